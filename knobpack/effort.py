"""Effort: how much work a search may do unless it is told otherwise."""

DEFAULT_EFFORT = 10.0
"""Deterministic effort a search may take: some tens of seconds at most on a usual machine."""
