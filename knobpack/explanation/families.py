"""Families of a layout: what could share, the knobs it has, and what spans families."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

import attrs

from knobpack.definition.prices import TIERS, Price
from knobpack.explanation.case import Case
from knobpack.grouped import grouped
from knobpack.numbered.problem import Atom, Problem, bits
from knobpack.words import Request, Together
from knobpack.words.edits import only
from knobpack.words.names import listed

UPPER = 4
"""So many tiers depend only on who shares with whom, not on which knob it is."""

UPPER_IN_USE = 5
"""So many tiers of an edit are told: all but *layout*. What changes depends on single knobs."""


@attrs.frozen
class FamilyPart:
    """What one family holds of a preferred rule that other families hold some of too.

    Args:
        weight: what each knob more costs.
        held: whether something of it is placed in the layout.
        elsewhere: whether another family has something of it placed.
    """

    weight: int
    held: bool
    elsewhere: bool


@attrs.frozen
class LayoutFamily:
    """Destinations that could share knobs, and the knobs they have.

    Args:
        name: its voices, and the destinations of voices that are mostly elsewhere.
        destinations: full names, in the order of the request.
        items: their mask in the request numbered.
        knobs: the knobs they are on, in panel order.
        bound: those of them that something is kept or fixed on.
        spare: one of each sort of the others: which of one sort is given up makes no difference. Of
            a setup in use all of the others.
        needed: whether something of it may not be left out.
        parts: its parts of what spans families.
    """

    name: str
    destinations: tuple[str, ...]
    items: int
    knobs: tuple[str, ...]
    bound: tuple[str, ...]
    spare: tuple[str, ...]
    needed: bool
    parts: tuple[FamilyPart, ...]

    @property
    def free(self) -> int:
        """How many of its knobs nothing is kept or fixed on."""
        return len(self.knobs) - len(self.bound)


@attrs.frozen(eq=False)
class Divided:
    """A layout as its families see it.

    Args:
        problem: its request numbered.
        families: every family, in the order of their knobs on the panel, those without one last.
        free: the knobs that something may be on and nothing is kept or fixed on.
        unused: the knobs that are not reserved and that nothing is kept or fixed on, and that carry
            nothing.
        spare: of those of them that carry something one of each sort; of a setup in use all.
        between: what the layout pays because preferred rules span families, in points of the tier
            *sharing*.
        bundles: what every layout pays because bundles do, in points of the tier *bundles*.
    """

    problem: Problem
    families: tuple[LayoutFamily, ...]
    free: int
    unused: tuple[str, ...]
    spare: tuple[str, ...]
    between: int
    bundles: int


def divided(case: Case) -> Divided:
    """The families of an allocation. Those that may be on no knob are families of their own."""
    from knobpack.solver.families import families

    request, problem = case.request, case.problem
    names, panel = tuple(request.by_full_name), request.surface.knob_names
    knob_of = {name: panel.index(knob) for name, knob in case.knob_of.items()}
    on = [knob_of.get(name) for name in names]
    lost = ((number,) for number, atom in enumerate(problem.atoms) if not atom.knobs)
    parts = sorted((*families(problem), *lost))
    masks = [problem.items_of(sum(1 << number for number in part)) for part in parts]
    placed = sum(1 << item for item, knob in enumerate(on) if knob is not None)
    made = []
    for part, mask in zip(parts, masks, strict=True):
        atoms = [problem.atoms[number] for number in part]
        used = {on[item] for item in bits(mask)} - {None}
        knobs = [knob for knob in range(len(panel)) if knob in used]
        bound = [knob for knob in knobs if problem.pinned_knobs >> knob & 1]
        free = [knob for knob in knobs if knob not in bound]
        inside = [names[item] for item in bits(mask)]
        made.append(
            LayoutFamily(
                name=_name(request, inside),
                destinations=tuple(inside),
                items=mask,
                knobs=tuple(panel[knob] for knob in knobs),
                bound=tuple(panel[knob] for knob in bound),
                spare=tuple(panel[knob] for knob in _sorts(problem, atoms, free)),
                needed=any(atom.needed for atom in atoms),
                parts=tuple(_parts(problem, mask, placed)),
            )
        )
    usable = 0
    for atom in problem.atoms:
        usable |= atom.knobs
    closed = {panel.index(name) for name in request.surface.reserved}
    closed |= set(bits(problem.pinned_knobs))
    opened = [knob for knob in range(len(panel)) if knob not in closed]
    return Divided(
        problem=problem,
        families=tuple(sorted(made, key=lambda each: [*map(panel.index, each.knobs), len(panel)])),
        free=(usable & ~problem.pinned_knobs).bit_count(),
        unused=tuple(panel[knob] for knob in opened if knob not in on),
        spare=tuple(
            panel[knob]
            for knob in _sorts(problem, problem.atoms, [each for each in opened if each in on])
        ),
        between=sum(
            spread.weight * max(0, sum(1 for mask in masks if mask & placed & spread.items) - 1)
            for spread in problem.spreads
        ),
        bundles=sum(sum(1 for mask in masks if mask & bundle) - 1 for bundle in problem.bundles),
    )


def shares(case: Case, layout: Divided) -> dict[tuple[str, ...], tuple[int, ...]]:
    """What each family costs in the layout as it is, by its destinations: the first four tiers.

    Args:
        case: the allocation; of no setup in use.
        layout: its families.
    """
    names, prices = tuple(case.request.by_full_name), case.allocation.prices
    of = {name: at for at, family in enumerate(layout.families) for name in family.destinations}
    drives = {knob: of[name] for name, knob in case.knob_of.items()}
    due: list[tuple[int, Price]] = [(of[each.destination], each) for each in prices.omissions]
    due += [(drives[each.knob], each) for each in prices.breaks]
    due += [(drives[each.knob], each) for each in prices.knobs]
    due += [(drives[each.knobs[0]], each) for each in prices.bundles if each.term == "intruding"]
    found = [Counter[str]() for _ in layout.families]
    for at, price in due:
        for tier, _, _, points in price.points:
            found[at][tier] += points
    # What is joined across families counts in each of them by what that holds of it.
    for bundle in layout.problem.bundles:
        inside = ((of[names[i]], case.knob_of.get(names[i], i)) for i in bits(bundle))
        for at, places in grouped(inside).items():
            found[at]["bundles"] += len(set(places)) - 1
    for spread in layout.problem.spreads:
        placed = (names[i] for i in bits(spread.items) if names[i] in case.knob_of)
        for at, knobs in grouped((of[name], case.knob_of[name]) for name in placed).items():
            found[at]["sharing"] += spread.weight * (len(set(knobs)) - 1)
    return {
        family.destinations: tuple(own[tier] for tier in TIERS[:UPPER])
        for family, own in zip(layout.families, found, strict=True)
    }


def request_of(
    request: Request, destinations: Iterable[str], knobs: Iterable[str], routes: int | None
) -> Request:
    """The request for some destinations alone, on some of the knobs, and its first four tiers.

    Args:
        request: what is asked.
        destinations: full names.
        knobs: the knobs that may be used; what is kept or fixed on others must not be among the
            destinations.
        routes: how many routes there may be; None: any number.
    """
    few, use = only(request, tuple(destinations)), set(knobs)
    # What came with something better may be joined, though that is not among these: to be together
    # with itself demands nothing, and says so.
    joinable = [Together((name,)) for name in sorted(few.expendable - request.expendable)]
    few = attrs.evolve(few, rules=(*few.rules, *joinable))
    # What is kept on a reserved knob shares with nothing, so its own knob need not stay reserved.
    closed = tuple(name for name in request.surface.knob_names if name not in use)
    surface = attrs.evolve(few.surface, reserved=closed, routes=routes)
    return upper(attrs.evolve(few, surface=surface))


def upper(request: Request) -> Request:
    """The request without all that only the last two tiers speak of, of an edit only the last."""
    # What it was on before says how it stands where it is held.
    previous = request.previous if request.in_use or request.stances else None
    return attrs.evolve(
        request,
        previous=previous,
        rules=tuple(each.rule for each in request.effects if not (each.weight and each.limited)),
        weights=attrs.evolve(
            request.weights, sequence=0, voice_runs=0, group_runs=0, favour=0, habit=0
        ),
    )


def _sorts(problem: Problem, atoms: Iterable[Atom], knobs: Iterable[int]) -> list[int]:
    """The first knob of each sort: those of one sort may carry the same.

    In a setup in use no knob is like another: each has what it drives.
    """
    if problem.in_use:
        return list(knobs)
    found: dict[tuple[int, ...], int] = {}
    open_to = {atom.knobs for atom in atoms if atom.pinned is None}
    for knob in knobs:
        found.setdefault(tuple(mask >> knob & 1 for mask in open_to), knob)
    return list(found.values())


def _parts(problem: Problem, mask: int, placed: int) -> Iterable[FamilyPart]:
    for spread in problem.spreads:
        if spread.items & mask and spread.items & ~mask:
            held = bool(spread.items & mask & placed)
            yield FamilyPart(spread.weight, held, bool(spread.items & ~mask & placed))


def _name(request: Request, inside: list[str]) -> str:
    """The voices that are mostly in a family, and its destinations of other voices."""
    names = []
    for name in inside:
        voice = request.voice_of[name].name
        every = request.members[voice]
        mostly = 2 * len(set(every).intersection(inside)) > len(every)
        names.append(voice if mostly else name)
    return listed(list(dict.fromkeys(names)))
