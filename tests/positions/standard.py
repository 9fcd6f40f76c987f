"""The scaling of M2-115-U 1.0.2 a second time, sharing nothing with the package."""

from __future__ import annotations


def by_the_loop(value: int, from_bits: int, to_bits: int) -> int:
    """3.3.1, from 2 bits or more up to more bits."""
    more = to_bits - from_bits
    result = value << more
    if value <= 2 ** (from_bits - 1):
        return result
    repeated = from_bits - 1
    tail = value & (2**repeated - 1)
    tail = tail << (more - repeated) if more > repeated else tail >> (repeated - more)
    while tail:
        result |= tail
        tail >>= repeated
    return result
