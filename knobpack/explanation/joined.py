"""Joined: what the knobs of a setup in use drive that other knobs drove in their source.

In a setup in use what is there stays, so one more knob saves nothing by itself. What it could be
used for all the same is to part what was joined because knobs ran out.
"""

from __future__ import annotations

import attrs

from knobpack.definition.phrases import travel_text
from knobpack.setups.as_read import lies_within, read
from knobpack.words import Setup, Travel
from knobpack.words.fields import check_kind
from knobpack.words.names import knob_told, listed
from knobpack.words.travel import hundredths


@attrs.frozen
class Joined:
    """A bundle of a source that shares a knob with what another knob drove.

    Args:
        names: its destinations, by full name.
        now: the knob that it shares.
        beside: what else is on that knob, by full name.
        free: the first knob that drives nothing and may be used; None: there is none.
        own: the travel that it wants by itself, in words, where it is not that of the knob.
        missed: by how many hundredths of full travel it misses that, summed over its destinations.
    """

    names: tuple[str, ...]
    now: str
    beside: tuple[str, ...]
    free: str | None
    own: str | None
    missed: int

    def __str__(self) -> str:
        taker = "One more knob" if self.free is None else knob_told(self.free)
        over = "" if self.own is None else f", over {self.own}"
        beside = f"it shares {knob_told(self.now)} with {listed(self.beside, 3)}"
        if len(self.names) > 1:
            beside = beside.replace("it shares", "they share", 1)
        were = "was on another knob" if len(self.beside) == 1 else "were on other knobs"
        return (
            f"{taker} could take {listed(self.names)}{over}: {beside}, which {were} in the source."
        )


def joined(setup: Setup) -> tuple[Joined, ...]:
    """What one more knob could take: bundles that were joined with another of their source.

    Args:
        setup: the setup in use.

    Returns:
        Of each knob that carries several bundles of one or more sources, each bundle that could go
        but the most important one whose travel the knob has; those that miss most come first.

    Raises:
        InputError: ``setup`` is no Setup, or it cannot be read.

    Example:
        >>> from knobpack import Destination, Route, Setup, Surface, Voice
        >>> from knobpack.explanation.joined import joined
        >>> inner = (Destination("level", source_knob="1"), Destination("tone", source_knob="2"))
        >>> bass = Voice("Bass", inner, source="Club")
        >>> routes = (Route("Bass/level", "K1"), Route("Bass/tone", "K1"))
        >>> [each.names for each in joined(Setup("Late", Surface.row(1), (bass,), routes=routes))]
        [('Bass/tone',)]
    """
    check_kind("joined.setup", setup, Setup)
    reading = read(setup)
    surface = setup.surface
    closed = {*surface.reserved, *(each.knob for each in setup.broken)}
    carries = reading.carries
    free = next((k for k in surface.knob_names if not carries[k] and k not in closed), None)
    came = {
        voice.full_name(inner): (voice.source, inner.source_knob)
        for voice in setup.voices
        for inner in voice.destinations
    }
    found = []
    for knob, names in carries.items():
        bundles: dict[tuple[str | None, str | None], list[str]] = {}
        for name in names:
            if came[name][1] is not None:
                bundles.setdefault(came[name], []).append(name)
        here = [
            _one(setup, knob, tuple(each), tuple(n for n in names if n not in each), free)
            for each in bundles.values()
        ]
        if len(here) > 1:
            stays = min(
                here,
                key=lambda each: (
                    each.missed,
                    min(reading.destinations[name].priority for name in each.names),
                ),
            )
            found += [each for each in here if each is not stays]
    return tuple(sorted(found, key=lambda each: -each.missed))


def _one(
    setup: Setup, knob: str, names: tuple[str, ...], beside: tuple[str, ...], free: str | None
) -> Joined:
    reading, top = read(setup), setup.surface.top
    leads = {
        route.destination: reading.led(route) for route in reading.routes if route.knob == knob
    }
    wishes: dict[str, Travel] = {}
    for name in names:
        wish = reading.destinations[name].travel
        if wish is not None and lies_within(wish, top) and wish != leads[name]:
            wishes[name] = wish
    missed = sum(hundredths(wish, leads[name], top) for name, wish in wishes.items())
    alike = len(set(wishes.values())) == 1
    own = travel_text(next(iter(wishes.values())), top) if alike else None
    return Joined(names, knob, beside, free, own, missed)
