"""Faults: what cannot work in songs as they are programmed, told once with how to mend it."""

from __future__ import annotations

from collections.abc import Mapping

from knobpack.auditing import causes
from knobpack.auditing.audit import findings_in
from knobpack.definition.phrases import first_of
from knobpack.grouped import grouped
from knobpack.setups.as_read import read
from knobpack.text.columns import sentence
from knobpack.words import Setup
from knobpack.words.names import knob_told, listed, quoted

_STILL = {causes.EMPTY_TRAVEL, causes.ONE_STEP}
"""Causes for which a knob does nothing that looks as if it did something."""


def faults_told(songs: Mapping[str, Setup]) -> tuple[str, ...]:
    """What is wrong in songs, and what of them does nothing, with how to mend it.

    Args:
        songs: songs as they are programmed, by their names.

    Returns:
        A sentence for each fault, with the songs that have it; of many the first, and how many.
    """
    alike = grouped(
        (f"{each.fact}; {each.mend}", name)
        for name, setup in songs.items()
        for each in findings_in(read(setup))
        if each.severity == causes.WRONG or each.cause in _STILL
    )
    told = [f"In {quoted(names)}: {what}." for what, names in alike.items()]
    return tuple(first_of(told, "fault more", " of these songs: knobpack audit FILE tells them"))


def broken_told(songs: Mapping[str, Setup]) -> tuple[str, ...]:
    """Which knobs are out of use in some songs, and what they drive in others.

    Args:
        songs: songs as they are programmed, by their names.
    """
    of = grouped((each.knob, name) for name, setup in songs.items() for each in setup.broken)
    found = []
    for knob, names in of.items():
        rest = [(name, setup) for name, setup in songs.items() if name not in names]
        carries = ((read(setup).carries.get(knob) or (), name) for name, setup in rest)
        driven = [
            f"{listed(what)} in {quoted(those)}" for what, those in grouped(carries).items() if what
        ]
        if driven:
            told = f"{sentence(knob_told(knob))} is out of use in {quoted(names)}"
            found.append(f"{told}, and drives {', and '.join(driven)}.")
    return tuple(found)


def doing_nothing(setup: Setup) -> frozenset[str]:
    """The full names of what the knobs of a setup carry and do not move at all."""
    reading = read(setup)
    moved = {name for names in reading.drives.values() for name in names}
    return frozenset(route.destination for route in reading.routes) - moved
