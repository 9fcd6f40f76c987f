"""Combining setups: voices from other setups brought to a host, and all allocated."""
