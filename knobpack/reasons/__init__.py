"""Reasons: what a request forbids, as facts, and the graphs that answers rest on."""
