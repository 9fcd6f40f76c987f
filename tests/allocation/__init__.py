"""Whole shows."""
