"""Ways: differences side by side, and what is to be programmed for each of them."""

from __future__ import annotations

from typing import ClassVar, cast

import attrs

from knobpack.clash import Clash, ImpossibleDemands
from knobpack.errors import Stopped
from knobpack.grouped import grouped
from knobpack.reasons.answer_graph import Answer
from knobpack.show.answer import ShowAllocation
from knobpack.show.difference import MOST_MOVES, ShowDifference, part_changes
from knobpack.words.names import listed, quoted


@attrs.frozen
class ShowChange(Answer):
    """A song put in or dropped, another order, a voice more: each way to take it up.

    Args:
        change: what is changed, in words.
        ways: what comes of it, the way in which least is programmed anew first.
        untold: the ways that it was stopped before, in words.
        stopped: what cut it, or some of it, short; None: nothing.
    """

    question: ClassVar[str] = "show change"

    change: str
    ways: tuple[ShowDifference, ...]
    untold: tuple[str, ...] = ()
    stopped: Stopped | None = None

    @property
    def proven(self) -> bool:
        """Whether all ways are told, and proven."""
        return not self.untold and all(way.proven for way in self.ways)

    @property
    def show(self) -> ShowAllocation:
        """The show laid out in the first way; where a song has no layout, its error is raised."""
        first = self.ways[0]
        if first.allocation is not None:
            return first.allocation
        error = ImpossibleDemands(cast("Clash", first.clash))
        error.song = first.song
        raise error

    @property
    def sentences(self) -> tuple[str, ...]:
        """What is changed; then what the first way costs, and what each other one saves beside it.

        Of each it is told what is to be programmed.
        """
        found, best = [f"{self.change}."], self.ways[0]
        for way in self.ways:
            told = way if way is best else _beside(best, way)
            if way is not best and told.deciding is None and way.allocation is not None:
                proven = ", proven" if told.proven else " is found"
                found.append(f"{way.asked}: nothing better{proven}.")
                continue
            moved = way.moves if 0 < len(way.moved) <= MOST_MOVES else ()
            found += [*told.costs, *_out(way), *moved, *_anew(way)]
            best = way
        if self.untold:
            found.append(f"Not told, as it was stopped ({self.stopped}): {listed(self.untold)}.")
        return tuple(found)


def _beside(best: ShowDifference, way: ShowDifference) -> ShowDifference:
    """A way beside the best of those before it."""
    if best.allocation is None or way.allocation is None:
        return way
    parts = part_changes(best.allocation, way.allocation)
    return attrs.evolve(way, before=best.after, parts=parts)


def _out(way: ShowDifference) -> tuple[str, ...]:
    """What is left out that was not before, a sentence for each song."""
    gone = grouped((each.song, each.destination) for each in way.out)
    return tuple(f"'{name}' leaves {listed(those)} out." for name, those in gone.items())


def _anew(way: ShowDifference) -> tuple[str, ...]:
    """What is to be programmed, in one sentence; none where no song has a layout."""
    if way.allocation is None:
        return ()
    return way.programmed or ("Nothing is to be programmed.",)


@attrs.frozen
class WorthFreeing(Answer):
    """What each song that is programmed costs by staying as it is, the dearest first.

    Args:
        songs: the show with each of them free alone, beside the show as it is laid out.
        untold: those that it was stopped before, by their names.
        stopped: what cut it, or some of it, short; None: nothing.
    """

    question: ClassVar[str] = "worth freeing"

    songs: tuple[ShowDifference, ...]
    untold: tuple[str, ...] = ()
    stopped: Stopped | None = None

    @property
    def proven(self) -> bool:
        """Whether all are told, and proven."""
        return not self.untold and all(each.proven for each in self.songs)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What each would save, and what is to be programmed for it; then which save nothing."""
        if not self.songs and not self.untold:
            return ("No song stays as it is, so none costs anything by that.",)
        idle = [each for each in self.songs if each.deciding is None]
        worth = (each for each in self.songs if each.deciding is not None)
        found = [line for each in worth for line in (*each.costs, *_anew(each))]
        if idle:
            proven = all(each.proven for each in idle)
            saves = "saves nothing, proven" if proven else "is not known to save anything"
            names = quoted([name for each in idle for name in each.freed])
            found.append(f"Freeing {names} {saves}.")
        if self.untold:
            found.append(f"Not told, as it was stopped ({self.stopped}): {quoted(self.untold)}.")
        return tuple(found)
