"""Combining setups: voices from other setups brought to a base, and all allocated."""
