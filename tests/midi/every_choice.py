"""Brute force: every choice of numbers for a few knobs, and the least it can cost.

It shares no code with the package: what is said here is read from the words and the definitions.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import attrs

TIERS = ("left", "parameters", "priority", "fine", "changes", "meaning")
"""What a choice costs, the most important first."""

Sent = int | tuple[int, int] | None
"""A controller number, a parameter number, or nothing."""


@attrs.frozen
class Knob:
    """What a knob is like, in plain values.

    Args:
        channels: those of the voices that it drives.
        standing: 6 less the least priority; 6 for the master.
        fine: whether 14 bits are asked for.
        asked: the number it is to have.
        before: what it was sent on; ``...`` where nothing is known.
    """

    channels: frozenset[int]
    standing: int
    fine: bool
    asked: int | None
    before: object


@attrs.frozen
class Case:
    """A few knobs, the master last, and what is open."""

    knobs: tuple[Knob, ...]
    allowed: frozenset[int]
    heard: Mapping[int, frozenset[int]]
    parameters: tuple[tuple[int, int], ...]


def least(case: Case) -> tuple[int, ...]:
    """The least cost of all choices, the tiers compared in order."""
    return min(price(case, choice) for choice in choices(case))


def choices(case: Case, given: tuple[Sent, ...] = ()) -> Iterator[tuple[Sent, ...]]:
    """Every choice that breaks no rule."""
    if len(given) == len(case.knobs):
        yield given
        return
    knob = case.knobs[len(given)]
    for sent in _ways(case, knob):
        clash = sent is not None and any(
            sent == other and knob.channels == case.knobs[place].channels
            for place, other in enumerate(given)
        )
        if not clash:
            yield from choices(case, (*given, sent))


def _ways(case: Case, knob: Knob) -> Sequence[Sent]:
    if len(knob.channels) != 1:
        return [None]
    if knob.asked is not None:
        return [knob.asked]
    (channel,) = knob.channels
    heard = case.heard.get(channel, frozenset())
    ok = [n for n in case.allowed if n not in heard and not (n < 32 and n + 32 in heard)]
    # What carries a parameter is 99, 98, 6 and 38 (MIDI 1.0, page 17).
    parameters = () if heard & {6, 38, 98, 99} else case.parameters
    return [None, *parameters, *sorted(ok)]


def price(case: Case, choice: tuple[Sent, ...]) -> tuple[int, ...]:
    """What a choice costs, tier by tier."""
    left = parameters = priority = fine = changes = meaning = 0
    for knob, sent in zip(case.knobs, choice, strict=True):
        number = sent if isinstance(sent, int) else None
        left += sent is None
        parameters += isinstance(sent, tuple)
        priority += knob.standing * (2 if sent is None else isinstance(sent, tuple))
        # A pair is a number below 32 and the one higher by 32; a parameter has 14 bits of data.
        fine += knob.fine and not (isinstance(sent, tuple) or (number is not None and number < 32))
        changes += knob.before is not ... and knob.before != sent
        meaning += 0 if number is None else _meaning(number)
    return left, parameters, priority, fine, changes, meaning


def _meaning(number: int) -> int:
    """How much the meaning of a number stands in the way (MIDI 1.0, GM2, RP-015, M2-113-UM)."""
    if number in {64, 65, 66, 67, 68, 69, 84, 88}:
        return 6
    if 71 <= number <= 78:
        return 5
    if number in {70, 79}:
        return 4
    if number in {1, 2, 4, 5, 8, 11, 12, 13}:
        return 3
    if number in {7, 10, 91, 92, 93, 94, 95}:
        return 2
    return int(number > 101)
