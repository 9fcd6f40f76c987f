"""Impossible: why an edit cannot be, and what a player can do instead."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import attrs

from knobpack.clash import Clash
from knobpack.edits.solution import Wish
from knobpack.edits.wishes import wish_of
from knobpack.grouped import grouped
from knobpack.setups.as_read import Reading
from knobpack.words.demand import PLACE, RULE, SEPARATE, sentences_of
from knobpack.words.names import knob_told, listed, quoted
from knobpack.words.setup_edits import Join, OnKnob, OwnKnob, Part, Swap

Routing = OwnKnob | OnKnob | Swap | Part | Join
"""The edits that say where something is to be."""

TABLE_TOLD = (
    "'knobpack table FILE --table FILE.csv' writes it, 'knobpack table FILE FILE.csv' takes it back"
)
"""How the table of a setup is edited."""


@attrs.frozen
class CannotBe:
    """An edit that cannot be, in a player's words.

    Args:
        asked: what was asked.
        because: what stands in the way, in sentences without what ends them.
        instead: what can be done, as instructions.
    """

    asked: str
    because: tuple[str, ...]
    instead: tuple[str, ...]


def cannot_be(reading: Reading, edit: Routing, clash: Clash) -> CannotBe:
    """Why an edit cannot be, and what can be done instead with edits and tables.

    Nothing of the edit itself is told of what clashes, nor any way out that no edit goes.

    Args:
        reading: the setup.
        edit: what was asked.
        clash: what stands in its way.

    Returns:
        That, in a player's words.
    """
    wish = wish_of(reading, edit)
    names = _parting(reading, wish) if isinstance(edit, Join | OnKnob | OwnKnob) else ()
    parting = {name: dict(_sides(reading, name, wish.named)) for name in names}
    because = [
        f"snapshot '{name}' moves {listed(sides[True])} and holds {listed(sides[False])}"
        for name, sides in parting.items()
    ]
    own = {*wish.rules, *wish.named}
    rest = []
    for demand in clash.demands:
        if demand.kind == RULE and demand.subject not in own:
            because.append(f"an earlier edit asked for {demand.subject.phrase}")
        elif demand.kind not in {RULE, PLACE} and not (demand.kind == SEPARATE and parting):
            rest.append(demand)
    because += [*sentences_of(rest), *(told.rstrip(".") for told in clash.remarks if not parting)]
    instead = list(_others(reading, edit, wish) if parting else ())
    if parting:
        instead.append(
            f"let {quoted(parting)} move all of these or none, in the table of the setup: "
            f"{TABLE_TOLD}"
        )
    if clash.wider is not None:
        instead.append(f"take it to a panel of {clash.wider} knobs: 'knobpack move FILE PANEL'")
    if not instead:
        instead.append("name fewer, or another knob; 'away NAME' makes room")
    return CannotBe(wish.asked, tuple(because), tuple(instead))


def _parting(reading: Reading, wish: Wish) -> Iterator[str]:
    """The snapshots that move some of what is to be on one knob, and hold the rest."""
    for each in reading.snapshots:
        within = len(reading.moved(each).intersection(wish.named))
        if each.break_weight is None and 0 < within < len(wish.named):
            yield each.name


def _sides(
    reading: Reading, snapshot: str, names: Collection[str]
) -> Iterator[tuple[bool, list[str]]]:
    moved = next(reading.moved(each) for each in reading.snapshots if each.name == snapshot)
    yield from grouped((name in moved, name) for name in names).items()


def _others(reading: Reading, edit: Routing, wish: Wish) -> Iterator[str]:
    """What goes together of what was named, and with what else it does."""

    def moves(name: str) -> tuple[bool, ...]:
        firm = (each for each in reading.snapshots if each.break_weight is None)
        return tuple(name in reading.moved(each) for each in firm)

    if not isinstance(edit, Join):
        alike = grouped((moves(name), name) for name in wish.named).values()
        yield f"name at a time what moves together: {'; '.join(map(listed, alike))}"
        return
    most = reading.setup.surface.destinations_per_knob or len(reading.destinations)
    driving = {k: names for k, names in reading.carries.items() if names}
    ways = {k: {moves(name) for name in names} for k, names in driving.items()}
    for knob in edit.knobs:
        fits = [
            other
            for other, names in driving.items()
            if other != knob
            and len(ways[knob] | ways[other]) == 1
            and len(names) + len(driving[knob]) <= most
        ]
        if fits:
            yield f"join {knob_told(knob)} with {' or '.join(map(knob_told, fits))}"
