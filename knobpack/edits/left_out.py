"""Left out: a setup as it is, with what it should drive and does not."""

from __future__ import annotations

from collections.abc import Collection

from knobpack.allocation import Allocation
from knobpack.edits.request import SetupInUse, in_request, request_in_use
from knobpack.errors import InputError
from knobpack.setups.as_read import read
from knobpack.words import Layout, Setup


def as_it_is(setup: Setup, names: Collection[str] = ()) -> Allocation | None:
    """A setup as a layout from which something is left out: what a knob of its source drove.

    Nothing is searched for, so nothing of it is proven.

    Args:
        setup: the setup in use.
        names: full names of what is taken to be left out too, where no knob drives it.

    Returns:
        The layout; None where nothing is left out, or a rule that was agreed on does not hold.
    """
    use = SetupInUse.of(read(setup))
    driven = {route.destination for route in use.layout.routes}
    lost = tuple(
        name
        for name, inner in use.reading.destinations.items()
        if name not in driven and (inner.source_knob is not None or name in names)
    )
    if not lost:
        return None
    knobs, broken = use.surface.knob_names, use.reading.broken
    held = (in_request(rule, {*driven, *lost}, knobs, broken) for rule in setup.agreed)
    rules = [rule for rule in held if rule is not None]
    there = Layout(use.layout.routes, use.layout.travels)
    try:
        return Allocation.of(request_in_use(use, rules, lost, must=()), there)
    except InputError:
        return None
