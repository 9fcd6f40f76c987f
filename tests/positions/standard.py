"""The scaling of M2-115-U 1.0.2 a second and a third time, sharing nothing with the package.

``by_the_loop`` goes step by step as the standard's own code (3.3.1) does; ``by_the_pattern``
writes bits as text, from the closed form that the loop amounts to.
"""

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


def by_the_pattern(value: int, from_bits: int, to_bits: int) -> int:
    """Above the centre: the top bit, then the lower bits again and again, cut to length."""
    written = f"{value:0{from_bits}b}"
    if written[0] == "0" or "1" not in written[1:]:
        return int(written.ljust(to_bits, "0"), 2)
    return int((written[0] + written[1:] * to_bits)[:to_bits], 2)


def by_the_prose(value: int, from_bits: int, to_bits: int) -> int:
    """The erratum: the sentence of 3.3.1 that removes the top *two* bits. Never to be used."""
    more, repeated = to_bits - from_bits, from_bits - 2
    result = value << more
    if value <= 2 ** (from_bits - 1):
        return result
    tail = value & (2**repeated - 1)
    tail = tail << (more - repeated) if more > repeated else tail >> (repeated - more)
    while tail:
        result |= tail
        tail >>= repeated
    return result
