"""allocate(): from voices and a surface to a checked allocation."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import overload

from knobpack.allocation import Allocation
from knobpack.checked_search import allocate_during
from knobpack.errors import MISSING, InputError
from knobpack.limits import DEFAULT_EFFORT, Limits, Progress, begun
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
from knobpack.words.fields import as_list, check_kind


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
    keep: Allocation | Setup | Layout | Iterable[Route] = (),
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
    keep: Allocation | Setup | Layout | Iterable[Route] = (),
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
        voices: the voices to combine, the base's own among them. Voices of a Setup or Allocation
            given as ``keep`` that are missing are put first. Or a Request, which says all from
            ``surface`` to ``weights`` by itself.
        surface: the panel to allocate on.
        groups: named sets of voices or destinations.
        snapshots: what moves with the master in each recalled state. None: one in which
            everything moves, and one for each group or voice alone.
        rules: together, apart, alone, fixed and barred, each required or preferred.
        keep: the base's routes, which do not move; the travels and layers of anything else than
            Routes stay as well. A Setup or Allocation has the resolution of the surface.
        previous: a layout to stay close to: as few as possible of its routes are changed; likewise.
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
        words = ("surface", "groups", "snapshots", "rules", "keep", "previous", "weights")
        beside = (surface, groups, snapshots, rules, keep, previous, weights)
        for word, given in zip(words, beside, strict=True):
            if given:
                right = "a Request holds all of it; make another with attrs.evolve(request, …)"
                raise InputError(f"allocate.{word}", given, right)
        return allocate_during(voices, run)
    if isinstance(voices, Setup):
        right = "a Setup is laid out already: edit and combine change it, keep= takes its routes"
        raise InputError("allocate.voices", voices, right)
    if isinstance(voices, Allocation):
        right = "an Allocation is laid out already: give its request, or previous= to stay close"
        raise InputError("allocate.voices", voices, right)
    if isinstance(voices, Surface) or surface is None:
        right = "give the voices, then the surface; or a Request, which holds both"
        field, wrong = ("surface", MISSING) if surface is None else ("voices", voices)
        raise InputError(f"allocate.{field}", wrong, right)
    if isinstance(keep, Setup | Allocation):
        there = keep.voices if isinstance(keep, Setup) else keep.request.voices
        own = as_list("allocate.voices", voices, "give a list of Voices")
        known = {voice.name for voice in own if isinstance(voice, Voice)}
        voices = (*(voice for voice in there if voice.name not in known), *own)
    stays = _layout("allocate.keep", keep, surface)
    before = None if previous is None else _layout("allocate.previous", previous, surface)
    try:
        request = Request(
            surface=surface,
            voices=as_tuple(voices),
            groups=as_tuple(groups),
            snapshots=as_tuple(snapshots),
            rules=as_tuple(rules),
            keep=stays,
            previous=before,
            weights=Weights() if weights is None else weights,
        )
    except InputError as error:  # named as it was given
        raise error.under("allocate") from None
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


def _layout(
    where: str, given: Allocation | Setup | Layout | Iterable[Route], surface: Surface
) -> Layout:
    if isinstance(given, Layout):
        return given
    routes: tuple[Route, ...] = ()
    if isinstance(given, Setup | Allocation):
        own = given.surface if isinstance(given, Setup) else given.request.surface
        if isinstance(surface, Surface) and own.bits != surface.bits:
            right = f"give one of {surface.bits} bits, as the surface has; combine rescales"
            raise InputError(f"{where}.surface.bits", own.bits, right)
    else:
        right = "give an Allocation, a Setup, a Layout (Layout.of makes one) or a list of Routes"
        if isinstance(given, Mapping):
            raise InputError(where, given, right)
        routes = as_list(where, given, right)
    try:
        return given.layout if isinstance(given, Setup | Allocation) else Layout(routes)
    except InputError as error:  # a setup may hold faults
        raise error.under(where) from None
