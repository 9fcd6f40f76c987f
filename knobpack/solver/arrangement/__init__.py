"""Clusters put on single knobs, best in the tiers *change* and *layout*."""
