"""Allocation: what :func:`knobpack.allocate` gives back."""

from knobpack.allocation.allocation import Allocation
from knobpack.allocation.records import Following, NewLayer, Tier

__all__ = ["Allocation", "Following", "NewLayer", "Tier"]
