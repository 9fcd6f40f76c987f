"""Undriven: what of a setup no knob drives, the essential first."""

from __future__ import annotations

from collections.abc import Callable, Collection

from knobpack.definition.phrases import ESSENTIAL
from knobpack.setups.as_read import read
from knobpack.words import Setup
from knobpack.words.names import listed
from knobpack.words.setup_edits import Away
from knobpack.words.voice import HIDDEN


def undriven_in(setup: Setup) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What no knob of a setup drives, by full names; what is hidden is left out.

    Args:
        setup: the setup, which may be faulty.

    Returns:
        What is essential, and the rest.
    """
    reading = read(setup)
    left = [name for name in reading.destinations if not reading.knobs_of.get(name)]
    of = {name: reading.destinations[name].priority for name in left}
    essential = tuple(name for name in left if of[name] == ESSENTIAL)
    return essential, tuple(name for name in left if ESSENTIAL < of[name] < HIDDEN)


def missed_of(setup: Setup) -> tuple[str, ...]:
    """What is essential and driven by no knob of a setup, but for what was put away on purpose.

    Args:
        setup: the setup, which may be faulty.
    """
    away = put_away(setup)
    return tuple(name for name in undriven_in(setup)[0] if name not in away)


def stays_undriven(setup: Setup) -> tuple[str, ...]:
    """What no knob does anything to, where the setup is laid out anew: its full names.

    What is essential and was not put away on purpose, or must be placed, gets a knob; and so does
    all where no knob does anything.

    Args:
        setup: the setup, which may be faulty.
    """
    reading, away = read(setup), put_away(setup)
    driven = {name for names in reading.drives.values() for name in names}
    return tuple(
        name
        for name, inner in reading.destinations.items()
        if driven and name not in driven and not inner.must_place
        if inner.priority != ESSENTIAL or name in away
    )


def put_away(setup: Setup) -> frozenset[str]:
    """The full names that edits have put away.

    Args:
        setup: a setup; its edits are remembered in it.
    """
    put = (past.what for past in setup.edits)
    return frozenset(name for each in put if isinstance(each, Away) for name in each.names)


def undriven_told(
    essential: Collection[str], rest: Collection[str], show: Callable[[str], str] = str
) -> tuple[str, ...]:
    """That no knob drives these, in a sentence for what is essential and one for the rest."""
    told = []
    if essential:
        told.append(f"Essential, and driven by no knob: {listed([*map(show, essential)])}.")
    if rest:
        told.append(f"No knob drives {listed([*map(show, rest)])}.")
    return tuple(told)
