"""Audit of a setup: which knobs do something, which are dead and why, and what else is amiss."""
