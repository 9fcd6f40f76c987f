"""Checked search: the best layout of a request, within what is left of a question, checked.

What questions, edits and shows ask of the solver, besides :func:`knobpack.allocate` itself.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from typing import TYPE_CHECKING, cast

import attrs

from knobpack.allocation import Allocation, Tier
from knobpack.allocation.checked import assembled, completed, still_asked
from knobpack.checker import Check, check
from knobpack.clash.find import ImpossibleDemands, find_clash
from knobpack.definition.prices import tiers_of
from knobpack.errors import Fault, KnobpackError, NoLayoutFound
from knobpack.heavy_imports import load
from knobpack.limits import Run
from knobpack.numbered.less import forgiving
from knobpack.numbered.problem import Problem
from knobpack.words import Layout, Request, Route, Surface

if TYPE_CHECKING:
    from knobpack.solver.outcome import Outcome, Values
    from knobpack.solver.watch import Watch


def allocate_during(request: Request, run: Run) -> Allocation:
    """Find the best layout for a request, within what is left of a question under way.

    Args:
        request: what is asked.
        run: the question that it is solved for.

    Returns, Raises: what :func:`knobpack.allocate_request` does.
    """
    return _allocated(request, run.watch(tiers_of(request.in_use)))


def allocate_short(
    request: Request, run: Run, *, one_empty: Collection[str] = ()
) -> Allocation | None:
    """Find the best layout where knobs are taken away: what then finds none open to it is left out.

    A knob that is lost to others is shortage. So nothing is judged to be contradicted here.

    Args:
        request: what is asked, on the knobs that are left.
        run: the question that it is solved for.
        one_empty: for an edit of a layout in use, knobs of which one at least is to carry nothing.

    Returns:
        The layout; None where none meets every demand.

    Raises:
        NoLayoutFound: the search was stopped before any layout was known.
    """
    watch = run.watch(tiers_of(request.in_use))
    empty = sum(1 << request.surface.knob_names.index(knob) for knob in one_empty)
    outcome = _outcome(
        request, watch, lambda problem: attrs.evolve(forgiving(problem), one_empty=empty)
    )
    return None if outcome is None else _checked(request, outcome, watch, short=True)


def allocate_in_order(
    request: Request, order: tuple[str, ...], run: Run
) -> tuple[Layout, dict[str, int]]:
    """Find the best layout for an edit of a layout in use, its tiers in another order.

    Args:
        request: what is asked.
        order: all tiers, the most important first; not as for what is new.
        run: the question that it is solved for.

    Returns:
        The layout, and for each tier a bound, as far as those before it are no worse.

    Raises:
        ImpossibleDemands: no layout meets every demand.
        NoLayoutFound: the search was stopped before any layout was known.
    """
    watch = run.watch(order)
    outcome = _outcome(request, watch, lambda problem: attrs.evolve(problem, order=order))
    if outcome is None:
        raise impossible(request, watch)
    return _layout_of(request, outcome), dict(zip(order, outcome.bounds, strict=True))


def _allocated(request: Request, watch: Watch) -> Allocation:
    outcome = _outcome(request, watch)
    if outcome is None:
        raise impossible(request, watch)
    return _checked(request, outcome, watch)


def _outcome(
    request: Request, watch: Watch, posed: Callable[[Problem], Problem] | None = None
) -> Outcome | None:
    """What the solver finds; None where no layout meets every demand.

    Args:
        request: what is asked.
        watch: what may cut the search short.
        posed: what is asked of the solver instead of the request numbered.

    Raises:
        NoLayoutFound: the search was stopped before any layout was known.
    """
    load("knobpack.numbered.request", "knobpack.solver.solve")
    from knobpack.numbered.request import problem_of
    from knobpack.solver.outcome import ImpossibleError, NothingFoundError
    from knobpack.solver.solve import solve

    if _exceeds_stores(request):
        return None
    problem = problem_of(request)
    try:
        outcome = solve(problem if posed is None else posed(problem), watch)
        return attrs.evolve(outcome, asked=problem)
    except ImpossibleError:
        return None
    except NothingFoundError:
        raise NoLayoutFound(watch.why) from None


def allocate_alike(request: Request, known: Allocation, watch: Watch) -> Allocation:
    """Find the best layout for a request that is much like one that is solved already.

    Where both pose the same problem, a rule or snapshot dropped perhaps that others imply, the
    answer is the same, and there is no search. A search that is cut short gives nothing worse than
    what is known of what is still asked, if that will do.

    Args:
        request: what is asked.
        known: the allocation of the other request.
        watch: what may cut the search short.

    Returns, Raises: what :func:`knobpack.allocate_request` does.
    """
    from knobpack.numbered.request import problem_of
    from knobpack.solver.outcome import Outcome

    def as_known(
        routes: Iterable[Route], panel: Surface, values: tuple[int, ...], bounds: tuple[int, ...]
    ) -> Allocation:
        at = {name: position for position, name in enumerate(panel.knob_names)}
        item = {name: position for position, name in enumerate(names)}
        on = {item[route.destination]: at[route.knob] for route in routes}
        return _checked(request, Outcome(on, cast("Values", values), cast("Values", bounds)), watch)

    names, before = tuple(request.by_full_name), known.request
    alike = names == tuple(before.by_full_name) and not _exceeds_stores(request)
    if alike and known.proven and problem_of(request).poses_the_same_as(problem_of(before)):
        return as_known(known.routes, before.surface, known.prices.totals, known.prices.totals)
    found = _allocated(request, watch)
    routes = still_asked(request, known).routes
    there = check(request, Layout(routes))
    if found.proven or not there.valid or there.prices.totals >= found.prices.totals:
        return found
    values = there.prices.totals
    bounds = tuple(map(min, values, (tier.bound for tier in found.tiers)))
    return as_known(routes, request.surface, values, bounds)


def impossible(request: Request, watch: Watch) -> KnobpackError:
    """The error that says which demands clash, found with the effort that is left.

    Args:
        request: what is asked; no layout of it meets every demand.
        watch: what may cut the search for what clashes short.
    """
    clash = find_clash(request, watch)
    if clash is None:
        return Fault("the solver found the demands impossible and the clash finder did not")
    return ImpossibleDemands(clash)


def _exceeds_stores(request: Request) -> bool:
    """Whether there are more voices than layers, or more snapshots than can be stored."""
    surface = request.surface
    layers = surface.layers is not None and len(request.voices) > surface.layers
    return layers or (surface.snapshots is not None and len(request.played) > surface.snapshots)


def _checked(
    request: Request, outcome: Outcome, watch: Watch, *, short: bool = False
) -> Allocation:
    """The allocation, once the plain checker has passed it and agrees on every value."""
    layout = _layout_of(request, outcome)
    found = check(request, layout)
    _insist(attrs.evolve(found, contradicted=()) if short else found, outcome)
    own = zip(tiers_of(request.in_use), outcome.values, outcome.bounds, outcome.proven, strict=True)
    *tiers, last = (Tier(*each) for each in own)
    last = attrs.evolve(last, as_shared=max(last.bound, outcome.as_shared))
    stopped = None if all(outcome.proven) else watch.why
    from knobpack.solver.value_functions.known import remember

    allocation = assembled(request, layout, found, (*tiers, last), stopped)
    remember(allocation, outcome.solved, outcome.asked)
    return allocation


def _layout_of(request: Request, outcome: Outcome) -> Layout:
    names, knobs = tuple(request.by_full_name), request.surface.knob_names
    on = outcome.knobs.items()
    return completed(request, Layout(Route(names[item], knobs[knob]) for item, knob in on))


def _insist(found: Check, outcome: Outcome) -> None:
    """Refuse to return what the plain checker does not confirm."""
    if not found.valid or found.prices.totals != outcome.values:
        breaches = "; ".join(str(breach) for breach in found.breaches) or "no breach"
        breaches += f"; contradicted: {found.contradicted}" if found.contradicted else ""
        raise Fault(
            f"the plain checker does not confirm the solver's layout: {breaches}; "
            f"prices {found.prices.totals}, not {outcome.values}"
        )
