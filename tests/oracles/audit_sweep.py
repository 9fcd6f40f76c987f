"""Whether an audit says what the sweeps of the same setup show.

The claim, in terms of what comes out of each route as the master moves through all its positions:

- a knob works in a snapshot if something comes out new of a route of its own;
- the audit calls those knobs live that work in some snapshot, and those for the hand that follow in
  none; of each it says what it drives, and where it follows;
- it says of those snapshots that they move nothing in which no knob works and that put no knob
  anywhere, and of those that they do the same in which the same knobs work and the others are put
  in the same places;
- what it says to be reached by nothing, or driven twice, has no route, or more than one.

Nothing is read from the setup here: what an audit says is held against arrays.
"""

from __future__ import annotations

from collections.abc import Iterator

from knobpack.auditing import causes
from knobpack.auditing.findings import Audit
from knobpack.simulation import Sweep


def disagreements(said: Audit, shown: list[Sweep]) -> list[str]:
    """All in which an audit and the sweeps of all snapshots differ, in their order."""
    return [*_of_knobs(said, shown), *_of_snapshots(said, shown), *_of_destinations(said, shown)]


def new_from(sweep: Sweep) -> dict[str, set[str]]:
    """For each knob, the destinations that receive anything new from it."""
    found: dict[str, set[str]] = {knob: set() for knob in sweep.knobs}
    for route, values in zip(sweep.routes, sweep.received.tolist(), strict=True):
        if len(set(values)) > 1:
            found[route.knob].add(route.destination)
    return found


def working(sweep: Sweep) -> list[str]:
    """The knobs from which anything new comes."""
    return [knob for knob, names in new_from(sweep).items() if names]


def put(sweep: Sweep) -> tuple[tuple[str, int], ...]:
    """The knobs of routes that do not follow, and where they are put, as far as that is known."""
    driving = {route.knob for route in sweep.routes}
    return tuple(
        (knob, row[0])
        for knob, row in zip(sweep.knobs, sweep.positions.tolist(), strict=True)
        if knob in driving and knob not in (*sweep.follows, *sweep.supposed)
    )


def _of_knobs(said: Audit, shown: list[Sweep]) -> Iterator[str]:
    knobs = list(shown[0].knobs)
    if [use.knob for use in said.by_knob] != knobs:
        yield "other knobs"
        return
    live = {knob for sweep in shown for knob in working(sweep)}
    with_master = {use.knob for use in said.by_knob if use.live and not use.by_hand}
    if with_master != live:
        yield f"live are {live}, not {said.live}"
    for use in said.by_knob:
        driven = set().union(*(new_from(sweep)[use.knob] for sweep in shown))
        carried = [r.destination for r in shown[0].routes if r.knob == use.knob]
        # A sweep does not show what the hand moves: of a knob that never follows, what may be.
        by_hand = not any(use.knob in sweep.follows for sweep in shown)
        if not set(use.driven) <= set(carried) if by_hand else set(use.driven) != driven:
            yield f"{use.knob} drives {driven}, not {use.driven}"
        if list(use.carries) != carried:
            yield f"{use.knob} carries {carried}, not {use.carries}"
        following = [sweep.snapshot for sweep in shown if use.knob in sweep.follows]
        if list(use.follows) != following:
            yield f"{use.knob} follows in {following}, not {use.follows}"
        moving = any(len(set(s.positions[knobs.index(use.knob)].tolist())) > 1 for s in shown)
        if use.knob in live and not moving:
            yield f"{use.knob} works, and does not move"


def _of_snapshots(said: Audit, shown: list[Sweep]) -> Iterator[str]:
    if said.assumed:
        return
    silent = [each.snapshots for each in said.findings if each.cause == causes.SILENT]
    still = [(sweep.snapshot,) for sweep in shown if not sweep.moved and not put(sweep)]
    if silent != still or any(bool(sweep.moved) != bool(working(sweep)) for sweep in shown):
        yield f"{still} move nothing, not {silent}"
    same: dict[tuple[tuple[str, ...], tuple[tuple[str, int], ...]], list[str]] = {}
    for sweep in shown:
        same.setdefault((tuple(working(sweep)), put(sweep)), []).append(sweep.snapshot)
    alike = {
        (knobs, tuple(names)) for (knobs, _), names in same.items() if knobs and len(names) > 1
    }
    told = {(f.knobs, f.snapshots) for f in said.findings if f.cause == causes.IDENTICAL}
    if told != alike:
        yield f"alike are {alike}, not {told}"


def _of_destinations(said: Audit, shown: list[Sweep]) -> Iterator[str]:
    lost = [
        n for each in said.findings if each.cause == causes.UNREACHED for n in each.destinations
    ]
    if sorted(lost) != sorted(shown[0].unreached):
        yield f"unreached are {shown[0].unreached}, not {lost}"
    ends = [route.destination for route in shown[0].routes]
    doubled = {each.destinations[0] for each in said.findings if each.cause == causes.DOUBLED}
    if doubled != {name for name in ends if ends.count(name) > 1}:
        yield f"driven twice are not {doubled}"
