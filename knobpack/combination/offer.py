"""Offer: a way to place what found no knob, or to part what matters from other things."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import attrs

from knobpack.allocation.records import Tier
from knobpack.combination.report import Carried
from knobpack.grouped import grouped
from knobpack.setups.missed_travels import ALARMS, MissedTravel, alarms_by_sort
from knobpack.text.shown import Fielded
from knobpack.words.names import knob_told, listed, voice_part

SHARE = "share"
"""An offer to give up snapshots that are added, so that a knob can be shared."""
FREE = "free"
"""An offer to let something of the base move to another knob."""
CLEAR = "clear"
"""An offer to take knobs of the base that do nothing."""
LEAVE = "leave"
"""An offer to leave something else out instead, or something less important that has a knob."""
INSIST = "insist"
"""An offer to add snapshots all the same that gave way, so that whole sources find no knob."""

_WORSE = {"bundles": "more is parted", "independence": "more snapshots are broken"}


_MENDED = dict(
    zip(
        ALARMS,
        (
            "no longer turned round",
            "no longer too high",
            "down as far as wanted",
            "no longer still",
            "no longer too faint",
        ),
        strict=True,
    )
)
"""What is said of what is no longer so."""

LONGEST = 280
"""Characters of an offer, at most, before names are cut short: four lines of a terminal."""


_BEST = "proven best that way"


@attrs.frozen
class Offer(Fielded):
    """A way to place what found no knob, or to ease what was joined, worked out to the end.

    All that it would change is told as the difference to what was found without it.

    Args:
        what: ``share`` (a snapshot is given up), ``free`` (of the base may move), ``clear`` (a knob
            that does nothing), ``leave`` (out) or ``insist`` (on an added snapshot).
        names: the snapshots to give up, the destinations of the base to free, the knobs to clear,
            the destinations to leave out, or the snapshots to add all the same.
        places: what it would place, where, and beside what.
        moves: what of the base would be on another knob.
        tiers: the value of every tier then, its bound, and whether it is proven.
        before: the values of the tiers as they are without it.
        missed: the travels that would be wanted and not had, and are not missed without it.
        eases: where it places nothing, what matters and would be as it was in its setup: with
            nothing else on its knob than there, over the travel that it wants.
        elsewhere: what of the sources would be on another knob.
        whole: for each voice that would be on one knob what of it has a knob.
        mends: the alarming travels of now that would be others.
        comes: the snapshots that would come, and do not without it: ``'all' of Quay set``, one
            that is added by its name alone.
        goes: the snapshots that would come no more.
        out: what would find no knob still.
        leave: what of the sources is to be left out besides, so that what is essential is heard.
        halved: what is essential and would reach half of what it is to reach at most.
        first: what else would be told first then, and is not so without it.
    """

    what: str
    names: tuple[str, ...]
    places: tuple[Carried, ...]
    moves: tuple[Carried, ...]
    tiers: tuple[Tier, ...]
    before: tuple[int, ...]
    missed: tuple[MissedTravel, ...] = ()
    eases: tuple[str, ...] = ()
    elsewhere: tuple[Carried, ...] = ()
    whole: tuple[tuple[str, ...], ...] = ()
    mends: tuple[MissedTravel, ...] = ()
    comes: tuple[str, ...] = ()
    goes: tuple[str, ...] = ()
    out: tuple[str, ...] = ()
    leave: tuple[str, ...] = ()
    halved: tuple[str, ...] = ()
    first: tuple[str, ...] = ()

    @property
    def proven(self) -> bool:
        """Whether nothing better can be had at this price."""
        return all(tier.proven for tier in self.tiers)

    @property
    def lost(self) -> int:
        """How much is given up, moved or left out for it; a knob that does nothing is no loss."""
        if self.what == CLEAR:
            return len(self.leave)
        given = {FREE: self.moves, INSIST: self.out}.get(self.what, self.names)
        return len(given) + len(self.leave)

    @property
    def lines(self) -> tuple[str, ...]:
        """How it is taken; then a line of what it wins, and one of what it costs."""
        doubt = (each for each in self._how_good() if each != _BEST)
        told = {"Wins": self._wins(6), "Costs": (*self._costs(6), *doubt)}
        rows = ((what, "; ".join(those)) for what, those in told.items())
        return (self._how, *(f"{what}: {row}" for what, row in rows if row))

    def __str__(self) -> str:
        told = (self._told(most) for most in (6, 4, 3, 2, 1))
        return next((each for each in told if len(each) <= LONGEST), self._told(0))

    def _told(self, most: int) -> str:
        """What it would change, what it wins first, so many names at most in a row.

        At 0 that is one, all that goes elsewhere is told in one row, and how many snapshots come.
        """
        return f"{self._how}: {'; '.join(self._changes(most))} ({', '.join(self._how_good())})"

    @property
    def _how(self) -> str:
        return self._with + (f", and {listed(self.leave)} left out" if self.leave else "")

    @property
    def _with(self) -> str:
        named = [f"'{name}'" for name in self.names]
        if self.what == SHARE:
            return f"without {_snapshots(named)}"
        if self.what == INSIST:
            return f"with {_snapshots(named)} all the same"
        if self.what == FREE:
            return f"with {listed(self.names)} free to move"
        if self.what == CLEAR:
            return f"with {listed(self.names)} cleared"
        return f"with {listed(self.names)} left out{' instead' if self.places else ''}"

    def _changes(self, most: int) -> Iterator[str]:
        yield from self._wins(most)
        yield from self._costs(most)

    def _wins(self, most: int) -> Iterator[str]:
        wins = [*self._on_knobs(self.places, "comes", "come", most), *self._better(most)]
        tacit = "the base can be played alone" if self.what == INSIST else "knobs are shared better"
        yield from wins or [tacit]

    def _costs(self, most: int) -> Iterator[str]:
        yield from self._losses(most)
        if most:
            yield from self._on_knobs(self.elsewhere, "goes", "go", most)
        elif self.elsewhere:
            goes = "goes" if len(self.elsewhere) == 1 else "go"
            knobs = dict.fromkeys(knob_told(str(each.new_knob)) for each in self.elsewhere)
            yield f"{_row([e.full_name for e in self.elsewhere], 1)} {goes} to {listed([*knobs])}"
        for knob, here, beside in self._knobs(self.moves):
            too = f" too,{_told_beside(beside, most)}" if beside else ""
            yield f"{knob_told(knob)} then drives {_row(here, most)}{too}"

    def _on_knobs(
        self, carried: Iterable[Carried], one: str, more: str, most: int
    ) -> Iterator[str]:
        for knob, here, beside in self._knobs(carried):
            verb = one if len(here) == 1 else more
            yield f"{_row(here, most)} {verb} to {knob_told(knob)}{_told_beside(beside, most)}"

    def _losses(self, most: int) -> Iterator[str]:
        """What it costs, besides what goes elsewhere."""
        for what, named in alarms_by_sort(self.missed, known=self.mends):
            yield f"{what}: {named}"
        cut = [m.destination for m in self.missed if m.lowered and not m.alarming]
        if cut:
            yield f"not as high as wanted: {_row(cut, most)}"
        if most > 1:
            yield from self.first
        elif self.first:
            yield "more is held where it sounds, is to be set by ear or moves as one"
        if self.goes:
            no_more = "comes no more" if len(self.goes) == 1 else "come no more"
            yield f"{_snapshots(self.goes)} {no_more}"
        other = [each.destination for each in self.missed if not each.told_first]
        if other:
            yield f"not over the travel wanted: {_row(other, most)}"
        if self.out:
            still = "" if self.what == INSIST else "still "
            yield f"{still}without a knob: {_row(self.out, most)}"

    def _better(self, most: int) -> Iterator[str]:
        gone = {*self.leave, *(self.names if self.what == LEAVE else ())}
        mends = [each for each in self.mends if each.destination not in self.eases]
        for what, named in alarms_by_sort(m for m in mends if m.destination in gone):
            yield f"else {what}: {named}"
        mends = [each for each in mends if each.destination not in gone]
        for what, named in alarms_by_sort(mends, known=self.missed):
            yield f"{_MENDED[what]}: {named}"
        if self.eases:
            are, their = ("is", "its") if len(self.eases) == 1 else ("are", "their")
            yield f"{_row(self.eases, most)} {are} then as in {their} setup"
        if self.comes:
            one = len(self.comes) == 1
            come = _snapshots(self.comes) if most or one else f"{len(self.comes)} snapshots"
            yield f"{come} {'comes' if one else 'come'}"

    def _knobs(self, carried: Iterable[Carried]) -> Iterator[tuple[str, list[str], list[str]]]:
        """For each knob what comes to it, a voice whole where all of it does, and what else is."""
        for knob, those in grouped((str(each.new_knob), each) for each in carried).items():
            here = [each.full_name for each in those]
            there = [name for name in those[0].beside if name not in here]
            yield knob, self._called(here), self._called(there)

    def _called(self, names: Sequence[str]) -> list[str]:
        """Names, a voice by its own where all of it is among them."""
        whole = {voice_part(each[0]) for each in self.whole if set(each) <= set(names)}
        return list(
            dict.fromkeys(v if (v := voice_part(name)) in whole else name for name in names)
        )

    def _how_good(self) -> Iterator[str]:
        """What else gets worse, and whether there is no better way to take it."""
        for tier, was in zip(self.tiers, self.before, strict=True):
            if tier.value > was and tier.name in _WORSE and self.what != INSIST:
                yield _WORSE[tier.name]
        yield _BEST if self.proven else f"not {_BEST}"


def _snapshots(named: Sequence[str]) -> str:
    return f"snapshot{'' if len(named) == 1 else 's'} {listed(named)}"


def _told_beside(names: Sequence[str], most: int) -> str:
    return f" beside {_row(names, most)}" if names else ""


def _row(names: Sequence[str], most: int) -> str:
    """Names in a row, cut short where that saves two or more; one is there in any case."""
    most = max(most, 1)
    return listed(names, most if len(names) > most + 1 else len(names))
