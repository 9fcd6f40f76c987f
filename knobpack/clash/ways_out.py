"""Clashes: the cheapest ways out of one, and whether one more knob would be a way out too."""

from __future__ import annotations

from knobpack.clash.corrections import Corrections
from knobpack.clash.feasible import Feasible
from knobpack.clash.minimal import Found, confirmed, grow
from knobpack.errors import Fault, InputError
from knobpack.words import Request
from knobpack.words.edits import with_knobs


def ways_out(feasible: Feasible, most: int) -> list[Found]:
    """Minimal sets of demands to give up so that all others can be met, the cheapest first.

    Args:
        feasible: answers for the request.
        most: how many are wanted at most.

    Returns:
        The sets, and whether it is proven that none that comes later costs less. Of those of one
        price the smallest come first, then those that give up what was asked last.

    Raises:
        Fault: the two models do not agree: a defect of knobpack.
    """
    corrections = Corrections(feasible)
    found: list[Found] = []
    while len(found) < most:
        best = corrections.cheapest([each.demands for each in found])
        if best is None:
            break
        verdict = confirmed(feasible, [d for d in feasible.demands if d not in best.demands])
        if verdict.possible is False:
            raise Fault(f"two models disagree on whether giving up {best.demands} helps")
        if verdict.possible is None:
            break
        if not best.proven:
            smaller = Found(grow(feasible, best.demands).demands, proven=False)
            found += [smaller] if smaller.demands not in {each.demands for each in found} else []
            break
        found.append(best)
    place = {demand: number for number, demand in enumerate(feasible.demands)}
    return sorted(
        found,
        key=lambda way: (
            sum(demand.price for demand in way.demands),
            len(way.demands),
            [-place[demand] for demand in reversed(way.demands)],
        ),
    )


def wider(request: Request) -> Request | None:
    """The request on a surface with one more knob, that nothing names; None if it can have none."""
    try:
        return with_knobs(request)
    except InputError:
        return None
