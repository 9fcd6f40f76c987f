"""Fewest: on how few knobs all can be placed with every demand met, a chromatic number."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knobpack.allocation import Tier
from knobpack.allocator import impossible
from knobpack.heavy_imports import load
from knobpack.limits import DEFAULT_EFFORT, Limits, Run, begun
from knobpack.numbered.problem import Problem
from knobpack.words import Request
from knobpack.words.edits import with_room_for_all
from knobpack.words.fields import check_kind

if TYPE_CHECKING:
    from knobpack.solver.fewest import Fewest


def fewest_knobs(
    request: Request, *, effort: float = DEFAULT_EFFORT, limits: Limits | None = None
) -> Tier:
    """The fewest knobs on which every destination can be placed with every demand met.

    The surface is taken to have as many more knobs as that takes, open to everything.

    Args:
        request: what is asked; its preferences and weights do not matter.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

    Returns:
        The number found, a proven bound, and whether the two agree, under the name ``knobs``.

    Raises:
        InputError: ``request`` is no Request, or ``effort`` no number from 0 to 10**9, or
            ``limits`` no Limits.
        ImpossibleDemands: demands clash however many knobs there are.
        NoLayoutFound: the search for what clashes was stopped before it knew.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.explanation.fewest import fewest_knobs
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> request = Request(Surface.row(8), (pad, bass))
        >>> fewest_knobs(request)
        Tier(name='knobs', value=2, bound=2, proven=True, as_shared=2)
    """
    check_kind("fewest_knobs.request", request, Request)
    _, fewest = fewest_sets(request, begun("fewest_knobs", effort, limits))
    return Tier("knobs", fewest.enough, fewest.needed, fewest.enough == fewest.needed)


def fewest_sets(request: Request, run: Run, *, firm: bool = False) -> tuple[Problem, Fewest]:
    """What :func:`fewest_knobs` goes by: the problem with a knob more, and its fewest sets.

    That knob, the last one, stands for all that are added; ``firm`` says whether snapshots that may
    be broken are taken as demands.

    Raises:
        ImpossibleDemands: demands clash however many knobs there are.
    """
    load("knobpack.numbered.request", "knobpack.solver.fewest")
    from knobpack.numbered.request import problem_of
    from knobpack.solver.fewest import fewest_knobs as fewest
    from knobpack.solver.outcome import ImpossibleError

    watch = run.watch()
    problem = problem_of(with_room_for_all(request, firm=firm, knobs=1))
    try:
        return problem, fewest(problem, watch)
    except ImpossibleError:
        raise impossible(with_room_for_all(request, firm=firm), watch) from None
