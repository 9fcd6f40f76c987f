"""Values for all variables of a model once the choices are made: a solver starts from a layout."""

from __future__ import annotations

from collections.abc import Mapping

from benchmarks.peers.booleans import Booleans


def completed(model: Booleans, given: Mapping[int, bool]) -> dict[int, bool]:
    """Extend an assignment to every variable, in one pass over what the variables mean.

    Args:
        model: what holds between the variables.
        given: the values of those that are free to choose; one that is not given is false.
    """
    values = dict.fromkeys(range(1, model.count + 1), False) | dict(given)
    for literal, literals in model.meanings:
        any_holds = any(values[each] if each > 0 else not values[-each] for each in literals)
        values[abs(literal)] = any_holds == (literal > 0)
    return values
