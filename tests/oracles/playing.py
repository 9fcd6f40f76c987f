"""What the knobs of a setup do in a snapshot, told from the setup alone."""

from __future__ import annotations

from collections.abc import Collection

from knobpack.words import Setup
from tests.oracles.reading_setups import inner_of, knobs_of, moves, travel_of


def follows(setup: Setup, moved: Collection[str], knob: str | None) -> bool:
    """Whether more of what a knob carries is to move than to be held."""
    on = {r.destination for r in setup.routes if r.knob == knob} & set(inner_of(setup))
    return 2 * len(on & set(moved)) > len(on)


def working(setup: Setup, moved: Collection[str]) -> frozenset[str]:
    """The knobs that move something, where so much is to move."""
    return frozenset(
        knob for knob in knobs_of(setup) if stirs(setup, knob) and follows(setup, moved, knob)
    )


def stirs(setup: Setup, knob: str) -> bool:
    """Whether a knob makes a difference to anything it carries over its travel."""
    top = 2**setup.surface.bits - 1
    travel = travel_of(setup, knob)
    start, end = min(travel.start, top), min(travel.end, top)
    inner = inner_of(setup)
    for route in setup.routes:
        if route.knob == knob and route.destination in inner:
            steps = inner[route.destination].steps
            if steps is None or steps > top:
                if start != end:
                    return True
            elif start * steps // (top + 1) != end * steps // (top + 1):
                return True
    return False


def widest(setup: Setup) -> str | None:
    """The snapshot in which all knobs work that work in any; None: none, or more than one."""
    works = {each.name: working(setup, moves(setup, each)) for each in setup.snapshots}
    every = frozenset().union(*works.values())
    found = [name for name, knobs in works.items() if knobs == every and every]
    return found[0] if len(found) == 1 else None


def alike(now: Setup, one: Collection[str], other: Collection[str], driven: set[str]) -> bool:
    """Whether two snapshots come to the same: on the same knobs, as far as there are any."""
    return set(one) & driven == set(other) & driven or working(now, one) == working(now, other)


def driven(setup: Setup) -> set[str]:
    return {r.destination for r in setup.routes if r.knob in knobs_of(setup)}
