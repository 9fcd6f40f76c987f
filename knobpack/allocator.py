"""allocate(): from voices and a surface to a checked allocation."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from typing import TYPE_CHECKING, cast, overload

import attrs

from knobpack.allocation import Allocation, Tier
from knobpack.allocation.checked import assembled, completed
from knobpack.checker import Check, check
from knobpack.clash import ImpossibleDemands, find_clash
from knobpack.definition.prices import tiers_of
from knobpack.errors import MISSING, Fault, InputError, KnobpackError, NoLayoutFound
from knobpack.heavy_imports import load
from knobpack.limits import DEFAULT_EFFORT, Limits, Progress, Run, begun
from knobpack.numbered.less import forgiving
from knobpack.numbered.problem import Problem
from knobpack.words import (
    Group,
    Layout,
    Request,
    Route,
    Rule,
    Setup,
    Snapshot,
    Surface,
    Voice,
    Weights,
)
from knobpack.words.converters import as_tuple
from knobpack.words.fields import check_kind

if TYPE_CHECKING:
    from knobpack.solver.outcome import Outcome, Values
    from knobpack.solver.watch import Watch


@overload
def allocate(
    voices: Request,
    *,
    time_limit: float | None = None,
    effort: float = DEFAULT_EFFORT,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
    limits: Limits | None = None,
) -> Allocation: ...


@overload
def allocate(
    voices: Iterable[Voice],
    surface: Surface,
    *,
    groups: Iterable[Group] = (),
    snapshots: Iterable[Snapshot] | None = None,
    rules: Iterable[Rule] = (),
    keep: Setup | Layout | Iterable[Route] = (),
    previous: Allocation | Setup | Layout | Iterable[Route] | None = None,
    weights: Weights | None = None,
    time_limit: float | None = None,
    effort: float = DEFAULT_EFFORT,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
    limits: Limits | None = None,
) -> Allocation: ...


def allocate(  # noqa: PLR0913 - each keyword is one thing to ask for
    voices: Iterable[Voice] | Request,
    surface: Surface | None = None,
    *,
    groups: Iterable[Group] = (),
    snapshots: Iterable[Snapshot] | None = None,
    rules: Iterable[Rule] = (),
    keep: Setup | Layout | Iterable[Route] = (),
    previous: Allocation | Setup | Layout | Iterable[Route] | None = None,
    weights: Weights | None = None,
    time_limit: float | None = None,
    effort: float = DEFAULT_EFFORT,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
    limits: Limits | None = None,
) -> Allocation:
    """Find the best layout for some voices on a surface.

    Args:
        voices: the voices to combine, the base's own among them. Voices of a Setup given as
            ``keep`` that are missing are put first. Or a Request, which says all from ``surface``
            to ``weights`` by itself.
        surface: the panel to allocate on.
        groups: named sets of voices or destinations.
        snapshots: what moves with the master in each recalled state. None: one in which
            everything moves, and one for each group or voice alone.
        rules: together, apart, alone, fixed and barred, each required or preferred.
        keep: the base's routes, which do not move; of a Setup or Layout the travels and layers
            stay as well.
        previous: a layout to stay close to: as few as possible of its routes are changed.
        weights: what each thing a layout does badly costs; None: the default weights.
        time_limit: seconds after which the search is cut off, 0 to 10**9; None: none.
        effort: deterministic effort after which the search stops, the same on every machine, 0 to
            10**9; the usual 10 take half a minute at most. Without a ``time_limit`` the same input
            always gives the same answer.
        progress: told, now and then, how far the search is.
        cancel: asked now and then; once it says yes, the best so far is returned.
        limits: in place of those four, all of them in one value.

    Returns:
        The best layout, checked, with the value, bound and proof of each tier. If the search was
        stopped, the best found, marked by ``stopped`` and the bounds.

    Raises:
        InputError: something given is not what it must be.
        ImpossibleDemands: no layout meets every demand; says which clash, and the ways out.
        NoLayoutFound: the search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(2))
        >>> for route in allocation.routes:
        ...     print(route.knob, "drives", route.destination)
        K1 drives Glass pad/cutoff
        K1 drives Glass pad/level
        K2 drives Round bass/drive
        >>> allocation.proven
        True
    """
    run = begun("allocate", effort, limits, time_limit, progress, cancel)
    if isinstance(voices, Request):
        if surface is not None or any((groups, snapshots, rules, keep, previous, weights)):
            right = "a Request says it by itself; make another with attrs.evolve(request, …)"
            raise InputError("allocate.surface", surface, right)
        return allocate_during(voices, run)
    if isinstance(voices, Surface) or surface is None:
        right = "give the voices, then the surface; or a Request, which holds both"
        field, wrong = ("surface", MISSING) if surface is None else ("voices", voices)
        raise InputError(f"allocate.{field}", wrong, right)
    if isinstance(keep, Setup):
        own = as_tuple(voices)
        known = {voice.name for voice in own if isinstance(voice, Voice)}
        voices = (*(voice for voice in keep.voices if voice.name not in known), *own)
    request = Request(
        surface=surface,
        voices=as_tuple(voices),
        groups=as_tuple(groups),
        snapshots=as_tuple(snapshots),
        rules=as_tuple(rules),
        keep=_layout("allocate.keep", keep),
        previous=None if previous is None else _layout("allocate.previous", previous),
        weights=Weights() if weights is None else weights,
    )
    return allocate_during(request, run)


def allocate_request(
    request: Request,
    *,
    time_limit: float | None = None,
    effort: float = DEFAULT_EFFORT,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
    limits: Limits | None = None,
) -> Allocation:
    """Find the best layout for a request, as :func:`allocate` does.

    Args:
        request: what is asked.
        time_limit: seconds after which the search is cut off, 0 to 10**9; None: none.
        effort: deterministic effort after which the search stops, the same on every machine, 0 to
            10**9; the usual 10 take half a minute at most. Without a ``time_limit`` the same input
            always gives the same answer.
        progress: told, now and then, how far the search is.
        cancel: asked now and then; once it says yes, the best so far is returned.
        limits: in place of those four, all of them in one value.

    Returns:
        The best layout, checked, with the value, bound and proof of each tier. If the search was
        stopped, the best found, marked by ``stopped`` and the bounds.

    Raises:
        InputError: ``request`` is no Request, a limit is not what it must be, or what is to be
            called cannot be.
        ImpossibleDemands: no layout meets every demand; says which clash, and the ways out.
        NoLayoutFound: the search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice, allocate_request
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> request = Request(Surface.row(2), (pad, bass))
        >>> print(allocate_request(request).sentences[0])
        3 of 3 destinations on 2 knobs, proven best.
    """
    check_kind("allocate_request.request", request, Request)
    run = begun("allocate_request", effort, limits, time_limit, progress, cancel)
    return allocate_during(request, run)


def allocate_during(request: Request, run: Run) -> Allocation:
    """Find the best layout for a request, within what is left of a question under way.

    Args:
        request: what is asked.
        run: the question that it is solved for.

    Returns, Raises: what :func:`allocate_request` does.
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
    the layout that is known, if that will do.

    Args:
        request: what is asked.
        known: the allocation of the other request.
        watch: what may cut the search short.

    Returns, Raises: what :func:`allocate_request` does.
    """
    from knobpack.numbered.request import problem_of
    from knobpack.solver.outcome import Outcome

    def as_known(values: tuple[int, ...], bounds: tuple[int, ...]) -> Allocation:
        at = {name: position for position, name in enumerate(before.surface.knob_names)}
        item = {name: position for position, name in enumerate(names)}
        on = {item[route.destination]: at[route.knob] for route in known.routes}
        return _checked(request, Outcome(on, cast("Values", values), cast("Values", bounds)), watch)

    names, before = tuple(request.destinations), known.request
    alike = names == tuple(before.destinations) and not _exceeds_stores(request)
    if alike and known.proven and problem_of(request).poses_the_same_as(problem_of(before)):
        return as_known(known.prices.totals, known.prices.totals)
    found = _allocated(request, watch)
    if found.proven or not alike or request.surface.knob_names != before.surface.knob_names:
        return found
    there = check(request, Layout(known.routes))
    if not there.valid or there.prices.totals >= found.prices.totals:
        return found
    values = there.prices.totals
    return as_known(values, tuple(map(min, values, (tier.bound for tier in found.tiers))))


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


def _layout(where: str, given: Allocation | Setup | Layout | Iterable[Route]) -> Layout:
    if isinstance(given, Layout):
        return given
    if isinstance(given, Setup | Allocation):
        return given.layout
    routes = as_tuple(given)
    if not isinstance(routes, tuple):
        raise InputError(where, given, "give a Setup, a Layout or a list of Routes")
    return Layout(routes)


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
    names, knobs = tuple(request.destinations), request.surface.knob_names
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
