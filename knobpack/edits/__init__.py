"""Edits: a setup that is in use with one thing otherwise, and the least that moves for it."""
