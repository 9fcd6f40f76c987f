"""take_back(): a setup without one of its edits, those after it done again."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

import attrs

from knobpack.clash import ImpossibleDemands
from knobpack.edits.answer import Edited
from knobpack.edits.editor import edit
from knobpack.edits.memory import remembered, with_part
from knobpack.edits.merge import merged, with_settings
from knobpack.edits.request import SetupInUse
from knobpack.edits.solution import Wish, moves_between, solved
from knobpack.errors import InputError
from knobpack.limits import DEFAULT_EFFORT, Limits, Progress, Run, begun
from knobpack.setups.as_read import read
from knobpack.words import PastEdit, Rule, Setup
from knobpack.words.fields import check_kind, check_named
from knobpack.words.setup_edits import EDITS, Edit


def take_back(
    setup: Setup,
    which: int | str | Edit | PastEdit | None = None,
    *,
    time_limit: float | None = None,
    effort: float = DEFAULT_EFFORT,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
    limits: Limits | None = None,
) -> Edited:
    """Take an edit back: the setup is what it would be had it never been made.

    The last edit leaves nothing behind: the setup is exactly what it was. Where others came after
    it, they are done again without it; what can no longer be asked for then, such as to mend a knob
    that did not break, goes with it, and that is said. What was changed by hand since stays.

    Args:
        setup: the setup; ``setup.edits`` lists what can be taken back. What was edited at home is
            taken back there.
        which: the edit, what it is called there (``str``), or its number, 1 for the first one in
            that list; of several that are called so, the last. None: the last edit.
        time_limit: seconds after which it is cut off, 0 to 10**9; None: none.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        progress: told, now and then, how far the search is.
        cancel: asked now and then; once it says yes, the best so far is taken.
        limits: in place of those four, all of them in one value.

    Returns:
        The setup without the edit, what is on another knob than now, and the sheet to program it
        from. It is proven if all that was done again is.

    Raises:
        InputError: something given is not what it must be, or there is no such edit.
        NoLayoutFound: a search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, Route, Setup, Surface, Swap, Voice, edit, take_back
        >>> organ, route = Voice("Organ", (Destination("level"),), 1), Route("Organ/level", "K1")
        >>> setup = Setup("Quay set", Surface.row(3), (organ,), routes=(route,))
        >>> swapped = edit(setup, Swap("K1", "K3")).setup
        >>> print(take_back(swapped))
        K1 and K3 change places, taken back: 1 route moves, from K3; proven: less will not do.
        Organ/level goes from K3 to K1.
        >>> take_back(swapped, "K1 and K3 change places").setup == setup
        True
    """
    check_kind("take_back.setup", setup, Setup)
    run = begun("take_back", effort, limits, time_limit, progress, cancel)
    at = _found(setup.edits, which)
    again = done_without(setup, (at,), run)
    there = again.setup
    wish = Wish(f"{setup.edits[at]}, taken back", previous=SetupInUse.of(read(there)).layout)
    last = solved(setup, there, wish, run, lambda made, _: attrs.evolve(made, setup=there))
    return attrs.evolve(
        last,
        moved=moves_between(read(setup).knobs_of, there),
        notes=(*again.notes, *last.notes),
        gave_way=again.gave_way,
        certain=last.certain and again.proven,
    )


@attrs.frozen
class DoneAgain:
    """A setup without some of its edits, those after the first of them done again.

    Args:
        setup: the setup.
        notes: what could not be done again, in sentences.
        gave_way: the rules of earlier edits that gave way.
        proven: whether each was proven the least.
    """

    setup: Setup
    notes: tuple[str, ...]
    gave_way: tuple[Rule, ...]
    proven: bool


def done_without(setup: Setup, left: Collection[int], run: Run) -> DoneAgain:
    """A setup without some of its edits, those after the first of them done again.

    Args:
        setup: the setup.
        left: where they stand among its edits, counted from 0; none: it stays as it is.
        run: what may cut it short.

    Raises:
        NoLayoutFound: a search was stopped before any layout was known.
    """
    there, first = setup, min(left, default=len(setup.edits))
    with run.share(1 / 2) as half:
        for _, own in half.in_turn(setup.edits[first:]):
            there = _without_last(there, own)
    done, notes = list[Edited](), list[str]()
    stay = [past for at, past in enumerate(setup.edits) if at > first and at not in left]
    with run.share(1 / 2) as half:
        for past, own in half.in_turn(stay):
            if past.what is None:
                was, now = (with_part(there, part) for part in (past.before, past.after))
                there = remembered(there, _brought(there, was, now, own), None)
                continue
            try:
                done.append(edit(there, past.what, limits=own))
            except InputError as error:
                notes.append(f"'{past}' goes with it: {error.right}.")
            except ImpossibleDemands:
                notes.append(f"'{past}' goes with it: it cannot be met without it.")
            else:
                there = done[-1].setup
    gave_way = tuple(rule for each in done for rule in each.gave_way)
    return DoneAgain(there, tuple(notes), gave_way, all(each.proven for each in done))


def _found(edits: Sequence[PastEdit], which: int | str | Edit | PastEdit | None) -> int:
    """Where an edit stands."""
    if not edits:
        raise InputError("take_back.setup.edits", edits, "give a setup that was edited")
    if which is None:
        return len(edits) - 1
    called = [str(each) for each in edits]
    which = str(which) if isinstance(which, (PastEdit, *EDITS)) else which
    if isinstance(which, str):
        check_named("take_back.which", which, called, "give what an edit is called")
        return len(called) - 1 - called[::-1].index(which)
    if isinstance(which, bool) or not isinstance(which, int) or not 1 <= which <= len(edits):
        right = f"give the number of an edit, 1 to {len(edits)}, or what it is called"
        raise InputError("take_back.which", which, right)
    return which - 1


def _without_last(setup: Setup, run: Run) -> Setup:
    """A setup as it was before the last edit that it remembers.

    What was changed by hand since stays changed.

    Raises:
        NoLayoutFound: a search was stopped before any layout was known.
    """
    last, edits = setup.edits[-1], setup.edits[:-1]
    before = attrs.evolve(with_part(setup, last.before), edits=edits)
    after = with_part(setup, last.after)
    if after == setup:
        return before
    found = _brought(before, after, setup, run)
    return attrs.evolve(found, edits=edits)


def _brought(setup: Setup, was: Setup, now: Setup, run: Run) -> Setup:
    """A setup with what differs between two others brought to it."""
    there, previous, goes = merged(setup, was, now)
    for name in ("arrivals", "broken", "sending"):
        if getattr(was, name) != getattr(now, name):
            there = attrs.evolve(there, **{name: getattr(now, name)})
    wish = Wish("", previous=previous, goes=goes)
    return solved(
        setup, there, wish, run, lambda made, _: with_settings(setup, was, now, made.setup)
    ).setup
