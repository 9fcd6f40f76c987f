"""Held: what of a setup a table does not hold."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

from knobpack.setups.as_read import Reading, read
from knobpack.tables.grid import grid
from knobpack.tables.read import NAME, setup_in
from knobpack.tables.written import to_rows
from knobpack.words import Setup
from knobpack.words.fields import check_kind
from knobpack.words.names import listed


def not_held(setup: Setup, *, order: bool = True) -> tuple[str, ...]:
    """What of a setup a table does not hold, found by reading its table back.

    It is there again where the table is read with the setup as the ``rest``.

    Args:
        setup: the setup.
        order: whether to tell also of lists that are there again in another order, which changes
            nothing of what is played.

    Returns:
        Sentences; with the order, none if ``from_rows(to_rows(setup)) == setup``.

    Raises:
        InputError: ``setup`` is no Setup, or ``order`` not true or false.

    Example:
        >>> from knobpack import Destination, Group, Setup, Surface, Voice
        >>> from knobpack.tables import not_held
        >>> organ = Voice("Organ", (Destination("level"), Destination("brightness")))
        >>> low = Group("Ground", ("Organ",))
        >>> setup = Setup("Evening set", Surface.row(2), (organ,), groups=(low,))
        >>> not_held(setup)
        ('Not in the table: group Ground.',)
    """
    reading = read(setup, "not_held.setup")
    check_kind("not_held.order", order, bool)
    back = setup_in(grid(to_rows(setup)), None, NAME, faulty=True)
    missing = _missing(reading, back)
    told = (what for what in missing if order or not what.startswith(_ORDER))
    return tuple(f"Not in the table: {what}." for what in told)


_WHOLE: Final = {
    "arrivals": "what is remembered of the sources that came",
    "agreed": "the rules that edits laid down",
    "broken": "the knobs that are out of use",
    "home": "the panel that the setup comes from",
}
_ORDER: Final = "the order of"
_LISTED: Final = ("routes", "travels", "labels", "sending")


def _missing(reading: Reading, back: Setup) -> Iterator[str]:
    setup = reading.setup
    if setup.groups:
        names = [group.name for group in setup.groups]
        yield f"{'groups' if len(names) > 1 else 'group'} {listed(names)}"
    yield from (what for field, what in _WHOLE.items() if getattr(setup, field))
    for field in _LISTED:
        yield from _lost(field, getattr(setup, field), getattr(back, field))
    if back.surface.reserved != setup.surface.reserved:
        yield f"{_ORDER} the reserved knobs"
    for there, kept in zip(setup.snapshots, back.snapshots, strict=True):
        of = f"of snapshot '{there.name}'"
        if there.break_weight is not None:
            yield f"the price of breaking snapshot '{there.name}'"
        if reading.unknown(there.moves):
            yield f"what is to move and is not there {of}"
        elif there.moves != kept.moves:
            yield f"by what names it is said what moves {of}"
        for field in ("positions", "silent", "idle"):
            yield from _lost(f"{field} {of}", getattr(there, field), getattr(kept, field))


def _lost(what: str, there: tuple[object, ...], kept: tuple[object, ...]) -> Iterator[str]:
    lost = Counter(there) - Counter(kept)
    if lost:
        yield f"{lost.total()} of {len(there)} {what}, where something is named that is not there"
    elif there != kept:
        yield f"{_ORDER} {what}"
