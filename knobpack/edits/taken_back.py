"""take_back(): a setup without one of its edits, those after it done again."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

import attrs

from knobpack.clash import ImpossibleDemands
from knobpack.edits.answer import Edited
from knobpack.edits.editor import done_again, edit, without_last
from knobpack.edits.made import knob_of
from knobpack.edits.request import SetupInUse
from knobpack.edits.solution import Wish, moves_between, solved
from knobpack.errors import InputError
from knobpack.limits import DEFAULT_EFFORT, Limits, Progress, Run, begun
from knobpack.setups.as_read import read
from knobpack.words import PastEdit, Setup
from knobpack.words.fields import check_kind, check_named


def take_back(
    setup: Setup,
    which: int | str | None = None,
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
        which: the number of the edit, 1 for the first one in that list, or what it is called there
            (``str``); of several that are called so, the last. None: the last edit.
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
    return again.answer(setup, f"{setup.edits[at]}, taken back", run)


def done_without(setup: Setup, left: Collection[int], run: Run) -> Again:
    """A setup without some of its edits, those after the first of them done again.

    Args:
        setup: the setup.
        left: where they stand among its edits, counted from 0; none: it stays as it is.
        run: what may cut it short.

    Raises:
        NoLayoutFound: a search was stopped before any layout was known.
    """
    before, first = setup, min(left, default=len(setup.edits))
    with run.share(1 / 2) as half:
        for _, own in half.in_turn(setup.edits[first:]):
            before = without_last(before, own)
    again = Again(before)
    stay = [past for at, past in enumerate(setup.edits) if at > first and at not in left]
    with run.share(1 / 2) as half:
        for past, own in half.in_turn(stay):
            again.do(past, own)
    return again


def _found(edits: Sequence[PastEdit], which: int | str | None) -> int:
    """Where an edit stands."""
    if not edits:
        raise InputError("take_back.setup.edits", edits, "give a setup that was edited")
    if which is None:
        return len(edits) - 1
    called = [str(each) for each in edits]
    if isinstance(which, str):
        check_named("take_back.which", which, called, "give what an edit is called")
        return len(called) - 1 - called[::-1].index(which)
    if isinstance(which, bool) or not isinstance(which, int) or not 1 <= which <= len(edits):
        right = f"give the number of an edit, 1 to {len(edits)}, or what it is called"
        raise InputError("take_back.which", which, right)
    return which - 1


@attrs.define
class Again:
    """Edits being done again.

    Args:
        setup: the setup so far.
        done: the answers.
        notes: what could not be done again.
    """

    setup: Setup
    done: list[Edited] = attrs.field(factory=list)
    notes: list[str] = attrs.field(factory=list)

    def do(self, past: PastEdit, run: Run) -> None:
        """Do one again, if it can still be asked for."""
        if past.what is None:
            self.setup = done_again(self.setup, past, run)
            return
        try:
            found = edit(self.setup, past.what, limits=run)
        except InputError as error:
            self.notes.append(f"'{past}' goes with it: {error.right}.")
        except ImpossibleDemands:
            self.notes.append(f"'{past}' goes with it: it cannot be met without it.")
        else:
            self.setup, self.done = found.setup, [*self.done, found]

    def answer(self, before: Setup, told: str, run: Run) -> Edited:
        """What is on another knob than it was before."""
        there = self.setup
        wish = Wish(told, previous=SetupInUse.of(read(there)).layout)
        last = solved(before, there, wish, run, lambda made, _: attrs.evolve(made, setup=there))
        return attrs.evolve(
            last,
            moved=moves_between(knob_of(read(before)), there),
            notes=(*self.notes, *last.notes),
            gave_way=tuple(rule for each in self.done for rule in each.gave_way),
            certain=last.certain and self.proven,
        )

    @property
    def proven(self) -> bool:
        """Whether each was proven the least."""
        return all(each.proven for each in self.done)
