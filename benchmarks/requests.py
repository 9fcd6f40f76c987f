"""Seeded requests as a player would make them, small and large.

All chance comes from ``random.Random(seed)``: the same seed gives the same request on every
machine. The distributions below are chosen to be plausible (common practice, no source).

How a request is drawn:

* **Families.** Each family gets a movement of its own: the snapshots in which it moves, one to
  all but one of them, besides a first snapshot in which everything moves. Snapshots are three to
  five, or as many as it takes to tell all families apart. Each family has one or more voices, and
  every destination of a voice moves as its family does. One request in eight has one or two
  destinations that the master must not move: these are one more family.
* **Voices and sources.** About six destinations to a voice, two to three voices to a source.
* **Destinations.** Kinds are drawn without repetition in a voice, the common ones (cutoff, level)
  far more often than the rare. Priorities 1 to 5 come as 15, 25, 30, 20 and 10 in a hundred.
* **Bundles.** In its source, each knob carried one to three destinations of one voice, and in one
  case in five something of a second voice of the same source as well. One in five destinations
  had no knob there.
* **Travels.** A knob had one travel in its source, so the destinations of a bundle want the same:
  full 55, half (either) 20, reversed 12, anything else 13 in a hundred.
* **Host.** Half of all requests keep one or two routes of a host voice, with their travels in two
  cases of three.
* **Rules.** One rule per four families or so: two voices or kinds better kept apart, two
  destinations better together, one barred from a knob, one that wants a knob; one in four is
  required, where that leaves everything placeable.
* **Surface.** One row of four, six or eight, or rows of eight or sixteen. The first knobs are
  favoured, and some knobs have a usual kind. One request in three has a limit to the
  destinations on a knob, never so low that something must be left out for it alone.
"""

from __future__ import annotations

import math
import random
from itertools import combinations

import attrs

from benchmarks.names import GROUP_NAMES, KINDS, SOURCE_NAMES, voice_names
from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    Group,
    Knob,
    KnobTravel,
    Layout,
    Request,
    Route,
    Rule,
    Snapshot,
    Surface,
    Together,
    Travel,
    Voice,
)

HOST = "Host"


@attrs.frozen
class _Plan:
    """What is drawn first: how large everything is.

    Args:
        families: the destinations of each family, voice by voice.
        sources: the source of each voice, in the order of the voices.
        snapshots: how many snapshots there are.
    """

    families: tuple[tuple[int, ...], ...]
    sources: int
    snapshots: int


def eight_knobs(seed: int) -> Request:
    """8 knobs; 4 to 6 voices of 2 to 4 sources; 16 to 24 destinations in 3 to 6 families."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    voices = draw.randint(4, 6)
    families = draw.randint(3, min(6, voices))
    sizes = _shares(draw, draw.randint(16, 24), voices, most=7)
    parts: list[list[int]] = [[size] for size in sizes[:families]]
    for size in sizes[families:]:
        min(parts, key=sum).append(size)
    plan = _Plan(
        tuple(tuple(part) for part in parts),
        draw.randint(2, min(4, voices)),
        max(draw.randint(3, 5), _enough_snapshots(families)),
    )
    return _request(draw, 8, plan)


def sized(seed: int, knobs: int, destinations: int, families: int | None = None) -> Request:
    """A request of any size.

    Args:
        seed: any whole number.
        knobs: 1 or more.
        destinations: as many as families, or more.
        families: how many families there are; None: one for each two and a half knobs. No family
            is larger than one and a half times the mean.
    """
    draw = random.Random(seed)  # noqa: S311 (no secret)
    if families is None:
        families = max(1, min(round(knobs / 2.5), destinations))
    most = max(2, math.ceil(1.5 * destinations / families))
    parts = []
    for size in _shares(draw, destinations, families, most):
        voices = max(1, round(size / 6), math.ceil(size / len(KINDS)))
        parts.append(tuple(_shares(draw, size, voices, most=len(KINDS))))
    voices = sum(len(part) for part in parts)
    plan = _Plan(
        tuple(parts),
        max(1, round(voices / draw.choice((2, 2.5, 3)))),
        max(draw.randint(3, 5), _enough_snapshots(families)),
    )
    return _request(draw, knobs, plan)


def _request(draw: random.Random, knobs: int, plan: _Plan) -> Request:
    surface = _surface(draw, knobs, plan)
    voices, family_of = _voices(draw, surface, plan)
    groups = _groups(draw, voices)
    keep = _keep(draw, surface, voices) if any(voice.source is None for voice in voices) else Layout()
    return Request(
        surface=surface,
        voices=voices,
        groups=groups,
        snapshots=_snapshots(draw, plan, voices, family_of),
        rules=_rules(draw, surface, voices, family_of, keep),
        keep=keep,
    )


def _enough_snapshots(families: int) -> int:
    """Snapshots enough for each family to have a movement of its own, with some to spare."""
    return max(2, math.ceil(math.log2(2 * families + 2)) + 1)


def _shares(draw: random.Random, whole: int, parts: int, most: int) -> list[int]:
    """``whole`` cut into parts of 1 to ``most``, at random but about equal."""
    weights = [draw.uniform(0.6, 1.4) for _ in range(parts)]
    shares = [1] * parts
    for _ in range(whole - parts):
        open_parts = [index for index in range(parts) if shares[index] < most]
        lean = min(open_parts, key=lambda index: (shares[index] / weights[index], index))
        shares[lean] += 1
    return shares
