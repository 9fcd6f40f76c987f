"""edit(): a setup in use with one thing otherwise, remembered in it, and the least that moves."""

from __future__ import annotations

from collections.abc import Callable

import attrs

from knobpack.edits.answer import Edited
from knobpack.edits.knobs import back_in_use, out_of_use, over_travel
from knobpack.edits.memory import remembered
from knobpack.edits.solution import solved
from knobpack.edits.voices import away, one_more
from knobpack.edits.way_around import way_around_told
from knobpack.edits.wishes import wish_of
from knobpack.edits.without_snapshots import placed_without_told
from knobpack.errors import InputError
from knobpack.limits import DEFAULT_EFFORT, Limits, Progress, Run, begun
from knobpack.setups.as_read import Reading, read
from knobpack.words import KnobTravel, Setup
from knobpack.words.setup_edits import EDITS, Away, BackInUse, Edit, OneMore, OutOfUse


def edit(
    setup: Setup,
    what: Edit,
    *,
    time_limit: float | None = None,
    effort: float = DEFAULT_EFFORT,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
    limits: Limits | None = None,
) -> Edited:
    """Edit a setup in use.

    As little as possible of all else moves: of all layouts that do what is asked, and leave out and
    break no more than must, the one in which the fewest bundles (what a knob drives), then the
    fewest routes, are elsewhere. Stored positions, travels and labels go along. What one edit asks
    for holds through later ones, unless one of them asks for the contrary: then the later one
    holds, and that is said. Where something would be left out for the sake of an earlier edit, that
    gives way, which is said first. The setup remembers its edits: :func:`knobpack.take_back`.

    Args:
        setup: the setup in use; its faults stay as they are, but for what the edit bears on.
        what: an :class:`OwnKnob`, :class:`OnKnob`, :class:`Swap`, :class:`Part`, :class:`Join`,
            :class:`OutOfUse`, :class:`BackInUse`, :class:`Away` or :class:`OneMore`; or a
            :class:`KnobTravel`, which sets the travel of a knob and moves nothing.
        time_limit: seconds after which the search is cut off, 0 to 10**9; None: none.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        progress: told, now and then, how far the search is.
        cancel: asked now and then; once it says yes, the best so far is taken.
        limits: in place of those four, all of them in one value.

    Returns:
        The new setup, what moved and why, whether that is proven the least, and the sheet to
        program it from.

    Raises:
        InputError: something given is not what it must be.
        ImpossibleDemands: it cannot be; says what stands in the way, and the ways out.
        NoLayoutFound: the search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, OwnKnob, Route, Setup, Surface, Voice, edit
        >>> organ = Voice("Organ", (Destination("level", priority=1), Destination("drive")), 1)
        >>> routes = (Route("Organ/level", "K1"), Route("Organ/drive", "K1"))
        >>> setup = Setup("Evening set", Surface.row(3), (organ,), routes=routes)
        >>> print(edit(setup, OwnKnob(("Organ/level",))))
        Organ/level on a knob of its own: 1 route moves, from K1; proven: less will not do.
        Organ/level goes from K1 to K2.
    """
    reading = read(setup, "edit.setup")
    if not isinstance(what, EDITS):
        names = ", ".join(each.__name__ for each in EDITS)
        raise InputError("edit.what", what, f"give one at a time: {names}")
    run = begun("edit", effort, limits, time_limit, progress, cancel)
    done = _done(reading, what, run)
    if done.allocation.essential_out:
        done = attrs.evolve(done, instead=tuple(placed_without_told(done.allocation, run)))
    if done.alarming:
        avoided = tuple(way_around_told(reading, what, done, _done, run))
        done = attrs.evolve(done, avoided=avoided)
    return attrs.evolve(done, setup=remembered(setup, done.setup, what))


def _done(reading: Reading, what: Edit, run: Run) -> Edited:
    match what:
        case OutOfUse():
            return out_of_use(reading, what, run)
        case BackInUse():
            return back_in_use(reading, what, run)
        case Away():
            return away(reading, what, run)
        case OneMore():
            return one_more(reading, what, run)
        case KnobTravel():
            return over_travel(reading, what, run)
        case _:
            return solved(reading.setup, reading.setup, wish_of(reading, what), run)
