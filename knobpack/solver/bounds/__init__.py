"""Bounds: what no placement is below, tier by tier, whatever its families."""
