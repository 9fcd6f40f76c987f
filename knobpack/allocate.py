"""allocate(): from a request to a checked allocation."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable

from knobpack.allocation import Allocation, Following, Tier
from knobpack.checker import check, follows
from knobpack.errors import ImpossibleDemands, KnobpackError, NoLayoutFound
from knobpack.layers import new_layers
from knobpack.prices import TIERS
from knobpack.words import Layout, Request, Route, VoiceLayer


def allocate_request(request: Request, *, effort: float = 60.0, time_limit: float | None = None) -> Allocation:
    from knobpack.problem import problem_of
    from knobpack.solver.outcome import ImpossibleError
    from knobpack.solver.solve import solve
    from knobpack.solver.watch import Watch

    deadline = None if time_limit is None else time.monotonic() + time_limit
    watch = Watch(effort, deadline)
    problem = problem_of(request)
    outcome = solve(problem, watch)
    names = tuple(request.destinations)
    knobs = request.surface.knob_names
    routes = tuple(Route(names[item], knobs[outcome.knobs[item]]) for item in sorted(outcome.knobs, key=lambda item: (outcome.knobs[item], item)))
    layers = new_layers(request)
    layout = Layout(routes, (), tuple(VoiceLayer(place.voice, place.new) for place in layers))
    report = check(request, layout)
    if report.breaches or report.prices.totals != outcome.values:
        raise KnobpackError(f"checker disagrees: {[str(b) for b in report.breaches]} {report.prices.totals} {outcome.values}")
    return Allocation(
        request=request,
        routes=routes,
        travels=report.travels,
        following=tuple(Following(s.name, follows(request, layout, s.name)) for s in request.played),
        unplaced=tuple(name for item, name in enumerate(names) if item not in outcome.knobs),
        layers=layers,
        tiers=tuple(Tier(*each) for each in zip(TIERS, outcome.values, outcome.bounds, outcome.proven, strict=True)),
        prices=report.prices,
        stopped=watch.stopped,
    )
