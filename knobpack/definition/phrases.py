"""Phrases: what tiers, priorities and travels are called, in words a player knows."""

from __future__ import annotations

from collections.abc import Sequence

from knobpack.words.names import listed
from knobpack.words.names import many as many  # noqa: PLC0414 - found with all other phrases
from knobpack.words.travel import travel_text as travel_text  # noqa: PLC0414 - likewise

PRIORITIES = ("essential", "high", "medium", "low", "hidden")
"""What priority 1 to 5 is called (M2-117-UM, MIDI-CI Property Exchange controller resources)."""

ESSENTIAL = 1
"""The priority of what a player cannot do without: that it is left out is told before all else."""

MATTERS = 2
"""The lowest priority of what matters: it ranks high, and what ranks lower may make room for it."""

TIER_WORDS = {
    "unplaced": "destinations left out",
    "bundles": "bundles parted",
    "independence": "snapshots broken",
    "sharing": "sharing knobs",
    "change": "routes changed",
    "layout": "places on the panel",
}
"""What each tier is about."""

CAUTION = (
    "Check at low volume before you play it on headphones or a PA: recalling a snapshot or moving "
    "the master can change levels suddenly."
)
"""What is said wherever the master moves something of a level-like kind."""


def levels_told(what: str) -> str:
    """The caution, with what is done to levels: ``move on K1``."""
    return f"Levels, or what can change them, {what}. {CAUTION}"


def points_in(points: int, tier: str) -> str:
    """So many points of a tier, in words; which way they change it is not said."""
    return f"{many(abs(points), 'point')} in '{TIER_WORDS[tier]}'"


def points_changed(points: int, tier: str) -> str:
    """How many points more, or below 0 less, a tier costs, in words."""
    more = "more" if points > 0 else "less"
    return f"{many(abs(points), 'point')} {more} in '{TIER_WORDS[tier]}'"


def essential_told(names: Sequence[str]) -> tuple[str, ...]:
    """That these essential destinations are left out, in one sentence; none where none are."""
    return (f"Essential, and left out: {listed(names)}.",) if names else ()


MOST_TOLD = 12
"""Knobs, notes and remarks that are told one by one, at most."""


def first_of(
    sentences: Sequence[str], more: str, rest: str = "", most: int = MOST_TOLD
) -> list[str]:
    """Sentences, the first of them alone where there are many, and how many more there are."""
    left = len(sentences) - most
    return [*sentences[:most], *([f"{many(left, more)}{rest}."] if left > 0 else [])]


PER_ROUTE = "on each route"
"""What is said in place of the travel of a knob where the surface sets travels on routes."""
