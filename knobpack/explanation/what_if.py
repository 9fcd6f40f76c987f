"""What if: another request solved, and what that changes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, ClassVar

import attrs

from knobpack.allocation import Allocation, Tier
from knobpack.checked_search import allocate_alike
from knobpack.clash import Clash, ImpossibleDemands
from knobpack.definition.phrases import TIER_WORDS, essential_told, many
from knobpack.definition.prices import tiers_of
from knobpack.errors import Stopped
from knobpack.explanation.comparison import Comparison, compared
from knobpack.grouped import grouped
from knobpack.limits import DEFAULT_EFFORT, Limits, begun
from knobpack.reasons.answer_graph import Answer
from knobpack.text.shown import Fielded
from knobpack.words import Request
from knobpack.words.demand import sentences_of
from knobpack.words.fields import check_kind
from knobpack.words.names import knob_told, listed

if TYPE_CHECKING:
    from knobpack.solver.watch import Watch


@attrs.frozen
class Moved(Fielded):
    """A destination that is elsewhere.

    Args:
        destination: its full name.
        before: the knob it was on; None: it was left out.
        after: the knob it is on; None: it is left out.
    """

    destination: str
    before: str | None
    after: str | None

    def __str__(self) -> str:
        return goes_told((self.destination,), self.before, self.after)


def goes_told(
    names: Sequence[str], before: str | None, after: str | None, most: int | None = None
) -> str:
    """What becomes of destinations that one knob drove and one drives; no full stop.

    Args:
        names: their full names.
        before: the knob that drove them; None: none did.
        after: the knob that drives them; None: none does.
        most: so many names at most; None: :data:`MOST_NAMES`.
    """
    several = bool(names[1:])
    told = listed(names, most or MOST_NAMES)
    if before is None:
        return f"{told} {'get' if several else 'gets'} {knob_told(after or '')}"
    if after is None:
        leave = "leave" if several else "leaves"
        return f"{told} {leave} {knob_told(before)} and {'are' if several else 'is'} left out"
    return f"{told} {'go' if several else 'goes'} from {knob_told(before)} to {knob_told(after)}"


def moves_told(moved: Iterable[Moved]) -> str:
    """What is elsewhere, those together that go from one knob to one; no full stop."""
    alike = grouped(((each.before, each.after), each.destination) for each in moved)
    told = [goes_told(names, *way) for way, names in alike.items()]
    more = len(told) - MOST_NAMES
    return "; ".join([*told[:MOST_NAMES], *([f"{more} more such moves"] if more > 0 else [])])


@attrs.frozen
class Difference(Answer):
    """What another request changes.

    Args:
        before: the tiers of the allocation.
        after: those of the best layout for the other request; empty if it has none.
        comparison: what that layout costs beside the allocation; None if there is none.
        moved: the destinations of both that are elsewhere, in the order of the request.
        added: destinations that only the other request has.
        gone: destinations that only the first has.
        eased: what is with nothing then that it did not come with, and goes as it wants, and is
            not so now, in the order of the other request.
        strained: what is so now, and has a knob then, but is not so, in the order of the first.
        allocation: the best layout for the other request; None if there is none.
        clash: why there is none; None if there is one.
        essential_out: the full names of what is essential and left out in that layout.
    """

    question: ClassVar[str] = "what if"

    before: tuple[Tier, ...]
    after: tuple[Tier, ...]
    comparison: Comparison | None
    moved: tuple[Moved, ...] = ()
    added: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    eased: tuple[str, ...] = ()
    strained: tuple[str, ...] = ()
    allocation: Allocation | None = attrs.field(default=None, repr=False)
    clash: Clash | None = None
    essential_out: tuple[str, ...] = ()

    @property
    def price(self) -> int | None:
        """How much more the other layout costs, in points; None: there is none."""
        return None if self.comparison is None else self.comparison.amount

    @property
    def tier(self) -> str | None:
        """The tier that those points are of; None: a tie, or no price."""
        return None if self.comparison is None else self.comparison.tier

    @property
    def stopped(self) -> Stopped | None:
        """What cut the search short before the difference was proven; None: nothing did."""
        return None if self.proven or self.allocation is None else self.allocation.stopped

    @property
    def proven(self) -> bool:
        """Whether the difference is proven: the deciding tier and all before it, on both sides."""
        if self.comparison is None:
            return True
        order = self.comparison.order
        last = order.index(self.comparison.tier or order[-1]) + 1
        return all(tier.proven for tier in (*self.before, *self.after) if tier.name in order[:last])

    @property
    def sentences(self) -> tuple[str, ...]:
        """The difference in plain sentences, what matters most first."""
        if self.comparison is None:
            return (f"Then no layout is possible: {told_clash(self)}.",)
        found = [*essential_told(self.essential_out), self._cost(self.comparison), *self.heard]
        terms = [term for term in self.comparison.terms if term.tier == self.comparison.tier]
        found += ["Term by term:"] if terms else []
        found += [f"  {term}" for term in terms[:MOST_LINES]]
        if len(terms) > MOST_LINES:
            found.append(f"  all else {sum(term.amount for term in terms[MOST_LINES:]):+,}")
        if self.added:
            found.append(f"New: {listed(self.added)}.")
        if self.gone:
            found.append(f"Gone: {listed(self.gone)}.")
        if not self.moved:
            found.append("No route moves.")
        else:
            shown = listed([str(each) for each in self.moved], MOST_LINES)
            found.append(f"{many(len(self.moved), 'destination')} elsewhere: {shown}.")
        return tuple(found)

    @property
    def heard(self) -> tuple[str, ...]:
        """What then goes as it wants, with nothing that it did not come with, and what no more."""
        told = (
            ("Then as wanted, and beside nothing else", self.eased),
            ("No longer as wanted, or beside others", self.strained),
        )
        return tuple(f"{what}: {listed(names, MOST_LINES)}." for what, names in told if names)

    def beside(self, other: str, *, proven: bool) -> str:
        """What another layout costs that was asked for.

        Args:
            other: what it does, as in *has it there*.
            proven: whether it is proven to be the best that does.

        Returns:
            That, or why there is none, in a sentence.
        """
        if self.comparison is None:
            return f"No layout {other}: {told_clash(self)}."
        if self.comparison.tier is None:
            told = f"A layout that is just as good {other}: a tie"
        else:
            best = "The best layout" if proven else "The best layout found"
            told = f"{best} that {other} costs {self.comparison.told}"
        return f"{told}{proof(proven=proven)}."

    def _cost(self, comparison: Comparison) -> str:
        if comparison.tier is None:
            best = "the best layout" if self.proven else "the best layout found"
            told = f"Nothing is gained or lost: {best} then costs the same"
        else:
            tier = comparison.order.index(comparison.tier)
            values = f"{comparison.before[tier]:,} to {comparison.after[tier]:,}"
            verb = "costs" if comparison.amount > 0 else "saves"
            told = f"That {verb} {abs(comparison.amount):,} in "
            told += f"'{TIER_WORDS[comparison.tier]}': from {values}"
        return f"{told}{proof(proven=self.proven)}."


def proof(*, proven: bool) -> str:
    """How sure a price is, at the end of a sentence."""
    return ", proven" if proven else "; that is not proven"


def told_clash(difference: Difference) -> str:
    """Why there is no layout, in words."""
    clash = difference.clash
    if clash is None:
        return ""
    told = f"these clash: {'; '.join(sentences_of(clash.demands))}"
    return f"{told}. {clash.no_knob_for}".removesuffix(".") if clash.contradicted else told


MOST_LINES = 8
"""Terms and moves that sentences name, at most."""

MOST_NAMES = 3
"""What goes one way together, and such ways, that a sentence names, at most."""


def what_if(
    allocation: Allocation,
    request: Request,
    *,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> Difference:
    """Solve another request, and tell what it changes.

    Args:
        allocation: what :func:`knobpack.allocate` gave back.
        request: the other request; :mod:`knobpack.words.edits` makes one from
            ``allocation.request``: a rule, knob, snapshot or voice more or less.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

    Returns:
        The difference. A request whose demands clash is an answer too: see its ``clash``.

    Raises:
        InputError: ``allocation`` is no Allocation, ``request`` no Request, ``effort`` no
            number from 0 to 10**9, or ``limits`` no Limits.
        NoLayoutFound: the search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> from knobpack.questions import what_if
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(2))
        >>> from knobpack.words.edits import without_knob
        >>> print(what_if(allocation, without_knob(allocation.request, "K2")))
        That costs 64 in 'destinations left out': from 0 to 64, proven.
        Term by term:
          Round bass/drive left out +64
        1 destination elsewhere: Round bass/drive leaves K2 and is left out.
    """
    check_kind("what_if.allocation", allocation, Allocation)
    check_kind("what_if.request", request, Request)
    run = begun("what_if", effort, limits)
    return difference(allocation, request, run.watch(tiers_of(request.in_use)))


def difference(allocation: Allocation, request: Request, watch: Watch) -> Difference:
    """As :func:`what_if`, for what is known to be right."""
    try:
        other = allocate_alike(request, allocation, watch)
    except ImpossibleDemands as error:
        return Difference(allocation.tiers, (), None, clash=error.clash)
    return difference_of(allocation, other)


def _loads(allocation: Allocation) -> dict[str, set[str]]:
    """The load of each destination, for itself where it is bound to none."""
    request = allocation.request
    bound = {name: {*load} for load in request.loads for name in load}
    return {name: bound.get(name, {name}) for name in request.by_full_name}


def _as_wanted(allocation: Allocation, loads: Mapping[str, set[str]]) -> set[str]:
    """What goes as it wants, on a knob with nothing but its load."""
    request, goes = allocation.request, allocation.layout.goes
    on = grouped((route.knob, route.destination) for route in allocation.routes)
    return {
        name
        for names in on.values()
        for name in names
        if goes.get(name) == request.wanted(name) and loads[name].issuperset(names)
    }


def moved_between(allocation: Allocation, other: Allocation) -> tuple[Moved, ...]:
    """What two layouts both know of and have elsewhere, in the order of the first."""
    was = {route.destination: route.knob for route in allocation.routes}
    now = {route.destination: route.knob for route in other.routes}
    new = other.request.by_full_name
    return tuple(
        Moved(name, was.get(name), now.get(name))
        for name in allocation.request.by_full_name
        if name in new and was.get(name) != now.get(name)
    )


def difference_of(allocation: Allocation, other: Allocation) -> Difference:
    """What another layout changes, be it of the same request or of another."""
    old, new = allocation.request.by_full_name, other.request.by_full_name
    # What is no load any more, as a kept route is given up, is no other company for that.
    loads = _loads(other) | _loads(allocation)
    now, then = _as_wanted(allocation, loads), _as_wanted(other, loads)
    placed = {route.destination for route in other.routes}
    return Difference(
        before=allocation.tiers,
        after=other.tiers,
        comparison=compared(allocation.prices, other.prices),
        moved=moved_between(allocation, other),
        added=tuple(name for name in new if name not in old),
        gone=tuple(name for name in old if name not in new),
        eased=tuple(name for name in new if name in then and name not in now),
        strained=tuple(name for name in old if name in now & placed - then),
        allocation=other,
        essential_out=other.essential_out,
    )
