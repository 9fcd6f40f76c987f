"""Setups: what is programmed, however faulty, and what goes with it to other knobs."""
