"""State: what stands on each knob when all steps are done, and what else is to be looked after."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby
from operator import itemgetter
from typing import TYPE_CHECKING

import attrs

from knobpack.definition.phrases import PER_ROUTE, travel_text
from knobpack.grouped import grouped
from knobpack.setups.as_read import read
from knobpack.setups.missed_travels import alarming_in, missed_between, missed_told
from knobpack.setups.sounding import held_still_told
from knobpack.sheets.cautions import by_ear, unheld_levels
from knobpack.sheets.steps import RECORDED, Step
from knobpack.sheets.told import Show, follow, names_in
from knobpack.words import Route, Setup, Travel
from knobpack.words.names import knob_told, knobs_told, listed, quoted

if TYPE_CHECKING:
    from knobpack.sheets.sheet import PatchSheet


@attrs.frozen
class KnobState:
    """One knob of the finished setup.

    Args:
        knob: its name.
        travel: its travel in positions, and in words.
        goes: the same as a value; None: the surface sets travels on routes.
        drives: the full names of its destinations, each with the layer of its voice and the travel
            of its route, if any, in words.
        follows: the snapshots in which it follows the master.
        label: what its display shows; None: nothing is known.
        sends: what it sends and how it takes over, in words; None: nothing is known.
        closed: why no route may come to it, in words: it may not be there; None: one may.
        turned: the full names of what it drives the other way than that wants.
    """

    knob: str
    travel: str
    goes: Travel | None
    drives: tuple[tuple[str, str], ...]
    follows: tuple[str, ...]
    label: str | None = None
    sends: str | None = None
    closed: str | None = None
    turned: tuple[str, ...] = ()

    @property
    def amiss(self) -> str:
        """What is amiss with the knob itself, in brackets; empty if nothing is."""
        return "" if self.closed is None else f" ({self.closed})"

    def ends(self, show: Show, *, together: bool = False) -> list[str]:
        """What it drives, each shown, with the layer and the travel of its route.

        Args:
            show: how names are shown.
            together: whether those that follow each other on one layer, over one travel, are one.
        """
        ends = [(where, show(name)) for name, where in self.drives]
        if not together:
            return [name + where for where, name in ends]
        rows = [(where, [name for _, name in some]) for where, some in groupby(ends, itemgetter(0))]
        return [listed(names, len(names)) + where for where, names in rows]


def knob_states(setup: Setup) -> tuple[KnobState, ...]:
    """Every knob of the surface in panel order, then those that are only named."""
    reading = read(setup)
    follows = [(play.snapshot.name, set(play.follows)) for play in reading.plays]
    layers = {full: voice.layer for voice in setup.voices for full in voice.by_full_name}
    travels = {setting.knob: setting.travel for setting in setup.travels}
    full, top, own = Travel.full(setup.surface.bits), setup.surface.top, setup.surface.per_route
    routes = grouped((route.knob, route) for route in setup.routes)

    def where(route: Route) -> str:
        layer, travel = layers.get(route.destination), route.travel or (full if own else None)
        on = "" if layer is None else f" on layer {layer}"
        return on if travel is None else f"{on} over {travel_text(travel, top)}"

    labels = {each.knob: each.label for each in setup.labels}
    sends = {each.knob: str(each) for each in setup.sending}
    turned = {each.destination for each in alarming_in(None, setup) if each.reversed}
    return tuple(
        KnobState(
            knob,
            PER_ROUTE if own else travel_text(travels.get(knob, full), top),
            None if own else travels.get(knob, full),
            tuple((route.destination, where(route)) for route in routes.get(knob, ())),
            tuple(name for name, knobs in follows if knob in knobs),
            labels.get(knob),
            sends.get(knob),
            reading.closed(knob) if knob in reading.carries else "not on this surface",
            tuple(name for name in reading.carries.get(knob, ()) if name in turned),
        )
        for knob in dict.fromkeys((*reading.carries, *routes, *travels, *labels, *sends))
    )


def by_stage(steps: Iterable[Step]) -> Iterator[tuple[str, list[tuple[int, Step]]]]:
    """The steps to tick with their numbers, below each heading those that stand there."""
    to_tick = (step for step in steps if step.sets)
    for stage, members in groupby(enumerate(to_tick, 1), key=lambda item: item[1].stage):
        yield stage, list(members)


def remarks(sheet: PatchSheet, show: Show = str) -> Iterator[tuple[str, list[str]]]:
    """What else there is besides the steps to tick, below headings; none without anything."""
    before, after = sheet.before, sheet.after
    missed = missed_told(missed_between(before, after), show)
    for heading, told in (
        (RECORDED, [step.told(show) for step in sheet.steps if not step.sets]),
        ("Snapshots to check", _other_followers(before, after, show)),
        ("To switch off", _to_switch_off(after, show)),
        ("Set by ear", _by_ear(before, after, show)),
        ("Travels that are not as wanted", [f"{told}." for told in missed]),
    ):
        items = list(told)
        if items:
            yield heading, items


def in_words(after: Setup, show: Show) -> Iterator[str]:
    """Where the voices stand, and what each snapshot silences and holds, when all is set."""
    # By layer, those without one last; each with how it is played.
    for voice in sorted(after.voices, key=lambda voice: (voice.layer is None, voice.layer or 0)):
        layer = "No layer" if voice.layer is None else f"Layer {voice.layer}"
        played = f" ({', '.join(voice.played)})" if voice.played else ""
        yield f"{layer}: {show(voice.name)}{played}"
    for snapshot in after.snapshots:
        if snapshot.silent:
            yield f"Silent in '{show(snapshot.name)}': {names_in(snapshot.silent, show)}"
    reading = read(after)
    for play in reading.stored_plays:
        places = [f"{show(knob_told(knob))} at {at}" for knob, at in reading.stands(play).items()]
        if places:
            yield f"Held in '{show(play.snapshot.name)}': {listed(places, len(places))}"


def _to_switch_off(after: Setup, show: Show) -> Iterator[str]:
    """In which snapshots of the finished setup knobs follow although they drive nothing."""
    for snapshot in after.snapshots:
        if snapshot.idle:
            knobs, one = knobs_told(snapshot.idle, show=show), len(snapshot.idle) == 1
            they = "it follows and drives" if one else "they follow and drive"
            yield f"Snapshot '{show(snapshot.name)}': switch off {knobs}; {they} nothing."


def _by_ear(before: Setup, after: Setup, show: Show) -> Iterator[str]:
    for names, knobs, loud in by_ear(before, after, show):
        it = "it is" if len(knobs) == 1 else "they are"
        told = f"{'Snapshot' if len(names) == 1 else 'Snapshots'} {quoted(map(show, names), 999)}"
        told += f": set by ear {knobs_told(knobs, show=show)}; where {it} held is not known."
        yield f"{told} {loud}".rstrip()
    yield from held_still_told(before, after, show)
    yield from unheld_levels(before, after, show)


def _other_followers(before: Setup, after: Setup, show: Show) -> Iterator[str]:
    """The snapshots that are not to be stored anew, but in which other knobs follow now."""
    was = {play.snapshot.name: play for play in read(before).plays}
    for play in read(after).plays:
        name, moves = play.snapshot.name, set(play.snapshot.moves)
        same = name in was and set(was[name].snapshot.moves) == moves
        if same and was[name].follows != play.follows:
            gone = [knob for knob in was[name].follows if knob not in play.follows]
            how = "on other knobs"
            if not set(play.follows) - set(was[name].follows):
                how = f"but nothing on {knobs_told(gone, show=show)} any more"
            yield (
                f"Snapshot '{show(name)}' moves what it moved, {how}: now "
                f"{follow(play.follows, show)} in it."
            )
