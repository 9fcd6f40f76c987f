"""Contradictions: what no knob of the panel could take, even if all else were left out.

From the words alone, one sentence of the definition after the other. What is left out because
there is not room enough is no contradiction: that is shortage, and has a price. Nor is anything
contradicted on a panel that has no knob, or whose knobs are all reserved: there it is not for what
is asked of a destination that it has no knob.
"""

from __future__ import annotations

from collections.abc import Collection

from knobpack.words import Request


def contradictions(request: Request) -> tuple[tuple[str, ...], ...]:
    """The destinations that are contradicted, each with all that it must share a knob with.

    They are contradicted if their own required rules, the snapshots that may not be broken and
    the number of destinations that a knob may carry leave them no knob that is not reserved, all
    other destinations left out. What the base has on a knob is not asked about: it is there.

    Args:
        request: what is asked.

    Returns:
        Full names, those that must be on one knob together in one tuple, in the order of the
        request; empty where nothing is contradicted.

    Example:
        >>> from knobpack import Apart, Destination, Request, Surface, Together, Voice
        >>> from knobpack.definition.contradictions import contradictions
        >>> pad = Voice("Glass pad", (Destination("cutoff"), Destination("level")))
        >>> both = ("Glass pad/cutoff", "Glass pad/level")
        >>> rules = (Together(both), Apart(both[:1], both[1:]))
        >>> contradictions(Request(Surface.row(8), (pad,), rules=rules))
        (('Glass pad/cutoff', 'Glass pad/level'),)
    """
    open_knobs = set(request.surface.knob_names).difference(request.surface.reserved)
    if not open_knobs:
        return ()
    closed, sides = _closed(request), _sides(request)
    firm = [request.moved(each) for each in request.played if each.break_weight is None]
    kept = {route.destination for route in request.keep.routes}
    most = request.surface.destinations_per_knob
    return tuple(
        unit
        for unit in _units(request)
        if kept.isdisjoint(unit)
        and (
            (most is not None and len(unit) > most)
            or any(_parted(unit, *pair) for pair in sides)
            or any(_torn(request, unit, moved) for moved in firm)
            or open_knobs <= {knob for name in unit for knob in closed.get(name, ())}
        )
    )


def _units(request: Request) -> list[tuple[str, ...]]:
    """The destinations, those that required rules bind together in one tuple."""
    unit_of: dict[str, tuple[str, ...]] = {name: (name,) for name in request.by_full_name}
    for rule in request.required:
        joined = request.named({name for each in rule.joined for name in unit_of[each]})
        unit_of |= dict.fromkeys(joined, joined)
    return list(dict.fromkeys(unit_of.values()))


def _closed(request: Request) -> dict[str, set[str]]:
    """The knobs that required rules keep each destination off."""
    closed: dict[str, set[str]] = {}
    for rule in request.required:
        for name in rule.limited:
            closed.setdefault(name, set()).update(rule.off)
    return closed


def _sides(request: Request) -> list[tuple[set[str], set[str]]]:
    """What required rules part: no one of the first shares with a second."""
    everything, found = set(request.by_full_name), []
    for rule in request.required:
        first, second = map(set, rule.parted or ((), ()))
        found += [(first, second), (set(rule.alone), everything.difference(rule.alone))]
    return found


def _parted(unit: tuple[str, ...], first: set[str], second: set[str]) -> bool:
    """Whether one of the unit is on one side, and another of it on the other."""
    ones, others = first.intersection(unit), second.intersection(unit)
    return bool(ones and others) and len(ones | others) > 1


def _torn(request: Request, unit: tuple[str, ...], moved: Collection[str]) -> bool:
    """Whether a snapshot moves one of the unit and holds another.

    What shares a knob in a layout in use may go on doing so.
    """
    use = request.use
    return any(
        one in moved and other not in moved and not (use and use.joined(one, other))
        for one in unit
        for other in unit
    )
