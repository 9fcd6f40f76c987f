"""Seeded requests to measure with, and what measures them."""
