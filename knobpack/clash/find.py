"""Clash: which demands cannot be met together, and what would help."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

import attrs

from knobpack.errors import InputError, KnobpackError, NoLayoutFound
from knobpack.reasons.answer_graph import Reasoned
from knobpack.text.shown import Fielded
from knobpack.words import Request
from knobpack.words import demand as words
from knobpack.words.demand import Demand, sentences_of, ways_out_of
from knobpack.words.edits import with_knobs
from knobpack.words.names import listed

if TYPE_CHECKING:
    from knobpack.clash.feasible import Feasible
    from knobpack.solver.watch import Watch


@attrs.frozen
class WayOut(Fielded):
    """Demands to give up, all of them, so that every other demand of the request can be met.

    Args:
        demands: what to give up, in asking order. Each must go: without one of them it is no
            way out.
        price: what that is reckoned to cost, in points of the tier *unplaced*: the sum of the
            prices of the demands.
        proven: whether it is proven that each must go and that no way out that is not listed
            before costs less. False only if the search was stopped; that the way leads out is
            certain all the same.
    """

    demands: tuple[Demand, ...]
    price: int
    proven: bool = True

    def __str__(self) -> str:
        return " and ".join(ways_out_of(self.demands))


@attrs.frozen
class Clash(Fielded, Reasoned):
    """Demands that no layout meets together.

    Args:
        demands: a minimal clashing set, in asking order: no layout meets them all, whatever else
            is given up.
        minimal: whether each of them is proven necessary: without it a layout meets the rest, and
            the plain checker confirms that layout. False only if the search was stopped.
        ways_out: what to give up so that all the rest of the request can be met, cheapest first.
        knobs: how many knobs of the surface count: those that the rivals may be on, or, where
            there are no rivals, those that are not reserved by these demands.
        rivals: destinations that are all separated from each other and are more than the knobs
            for them; empty if the clash is of another sort. One destination stands for all that
            must be together with it.
        wider: how many knobs the surface would need, if one more knob would let every demand of
            the request be met; else None.
        contradicted: what the clashing demands leave no knob, though all else were left out: full
            names, those that must be on one knob together in one tuple. Empty if the clash is of
            another sort.
    """

    question: ClassVar[str] = "clash"

    demands: tuple[Demand, ...]
    minimal: bool
    ways_out: tuple[WayOut, ...]
    knobs: int
    rivals: tuple[str, ...] = ()
    wider: int | None = None
    contradicted: tuple[tuple[str, ...], ...] = ()

    def __str__(self) -> str:
        told = " ".join((self._clashing, *self.remarks))
        ways = f" To get out: {'; or '.join(self.instructions)}." if self.instructions else ""
        return told[0].lower() + told[1:] + ways

    @property
    def sentences(self) -> tuple[str, ...]:
        """What clashes, and each way out, in plain sentences."""
        ways = (f"To get out: {way}." for way in self.instructions)
        return (self._clashing, *self.remarks, *ways)

    @property
    def _clashing(self) -> str:
        demands = "; ".join(sentences_of(self.demands))
        return f"No layout meets every demand. These clash: {demands}."

    @property
    def remarks(self) -> tuple[str, ...]:
        """What knobs there are for what clashes, and whether all of it is needed, in sentences."""
        unsure = "Perhaps not all of these are needed for the clash: the search was stopped."
        return tuple(filter(None, (self._count(), "" if self.minimal else unsure)))

    @property
    def instructions(self) -> tuple[str, ...]:
        """Each way out as an instruction; a wider surface comes last."""
        ways = [str(way) for way in self.ways_out]
        if self.wider is not None:
            knobs = "1 knob" if self.wider == 1 else f"{self.wider} knobs"
            ways.append(f"use a surface with {knobs}")
        return tuple(ways)

    @property
    def no_knob_for(self) -> str:
        """What no knob could take, in words; empty if the clash is of another sort."""
        if not self.contradicted:
            return ""
        bound = [f"{listed(unit)} together" for unit in self.contradicted if len(unit) > 1]
        lone = [name for unit in self.contradicted if len(unit) == 1 for name in unit]
        told = [*bound, *([listed(lone)] if lone else [])]
        return f"No knob is left for {'; nor for '.join(told)}, whatever else is left out."

    def _count(self) -> str:
        """The sentence that counts knobs, where the clash is about their number; else empty."""
        if self.contradicted:
            return self.no_knob_for
        placed = [demand.subject for demand in self.demands if demand.kind == words.PLACE]
        each = [demand.subject for demand in self.demands if demand.kind == words.PER_KNOB]
        there = "There is 1 knob" if self.knobs == 1 else f"There are {self.knobs} knobs"
        if each and len(placed) > each[0] * self.knobs:
            return f"{there}, for {each[0] * self.knobs} destinations in all."
        if self.rivals:
            these = f"These {len(self.rivals)}"
            if set(placed) != set(self.rivals):
                these += f" ({listed(self.rivals)})"
            return f"{these} are separated from each other, and {there.lower()} for them."
        return f"{there}." if self.wider is not None or (each and len(placed) > 1) else ""


class ImpossibleDemands(KnobpackError):
    """The demands clash: no layout meets them all.

    Args:
        clash: the minimal clashing set, each member proven necessary, and the ways out.
    """

    def __init__(self, clash: Clash) -> None:
        super().__init__(clash)
        self.clash = clash

    def __str__(self) -> str:
        return str(self.clash)


def find_clash(request: Request, watch: Watch, *, ways: int = 5) -> Clash | None:
    """Find out why no layout meets every demand, if none does.

    Args:
        request: what is asked.
        watch: what may stop the search.
        ways: how many ways out are wanted at most.

    Returns:
        A minimal clashing set with the cheapest ways out; None if some layout meets every demand.

    Raises:
        NoLayoutFound: the search was stopped before it was known whether one does.
    """
    # A call imports ortools; to import knobpack must not.
    from knobpack.clash import mcs, mus
    from knobpack.clash.feasible import Feasible

    feasible = Feasible(request, watch)
    possible = mus.confirmed(feasible, feasible.demands).possible
    if possible is None:
        raise NoLayoutFound(watch.stopped or "effort")
    if possible:
        return None
    # Ways out come first: if time is short, they help more than a minimal set.
    found = [
        WayOut(way.demands, sum(demand.price for demand in way.demands), way.proven)
        for way in mcs.ways_out(feasible, ways)
    ]
    more = _wider(request)
    enough = more is not None and is_possible(more, watch)
    feasible = attrs.evolve(feasible, opening=False)
    part = mus.shrink(feasible, feasible.demands)
    rivals, knobs = _rivals(feasible, part.demands)
    return Clash(
        demands=part.demands,
        minimal=part.proven,
        ways_out=tuple(found),
        knobs=knobs,
        rivals=rivals,
        wider=len(request.surface.knobs) + 1 if enough else None,
        contradicted=feasible.contradicted(part.demands),
    )


def is_possible(request: Request, watch: Watch) -> bool | None:
    """Whether some layout meets every demand; None if the search was stopped before that."""
    from knobpack.clash import mus
    from knobpack.clash.feasible import Feasible

    feasible = Feasible(request, watch)
    return mus.confirmed(feasible, feasible.demands).possible


def _wider(request: Request) -> Request | None:
    """The request on a surface with one more knob, that nothing names; None if it can have none."""
    try:
        return with_knobs(request)
    except InputError:
        return None


def _rivals(feasible: Feasible, demands: tuple[Demand, ...]) -> tuple[tuple[str, ...], int]:
    """The rivals of a clash, and how many knobs count."""
    rivals, room = feasible.crowd(demands)
    if len(rivals) > 1:
        return rivals, len(room)
    reserved = sum(1 for demand in demands if demand.kind == words.RESERVED)
    return (), len(feasible.request.surface.knobs) - reserved
