"""The request that a base and what comes to it make together."""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from knobpack.combination.base import KeptBase
from knobpack.combination.contribution import Contribution
from knobpack.combination.report import NotAsItWas
from knobpack.combination.snapshots import SnapshotPlan
from knobpack.errors import InputError
from knobpack.words import Layout, Request, Rule, Snapshot, Weights
from knobpack.words.edits import only
from knobpack.words.fields import check_named


def asked(
    base: KeptBase,
    brought: Sequence[Contribution],
    plan: SnapshotPlan,
    rules: tuple[Rule, ...],
    weights: Weights | None,
) -> tuple[Request, tuple[NotAsItWas, ...]]:
    """Work out the request for what is to be driven alone, and the rules that lose something.

    Args:
        base: what the base keeps.
        brought: what the sources bring.
        plan: the snapshots of the result.
        rules: in the names of the result.
        weights: None: the default weights.

    Raises:
        InputError: a rule or snapshot names what is not there.
    """
    whole = Request(
        surface=base.surface,
        voices=(*base.voices, *(voice for one in brought for voice in one.voices)),
        groups=(*base.groups, *(group for one in brought for group in one.groups)),
        snapshots=(),
        rules=(*base.agreed, *rules),
        keep=base.keep,
        previous=Layout(tuple(base.freed.values())) if base.freed else None,
        weights=Weights() if weights is None else weights,
    )
    new = tuple(each.snapshot for each in plan.new)
    _check(new, whole)
    whole = attrs.evolve(whole, snapshots=(*plan.of_base(base.snapshots), *new))
    wanted = {name for one in brought for name in one.wanted}
    wanted |= {route.destination for route in base.keep.routes} | set(base.freed)
    request = only(whole, wanted)
    return request, _idle_rules(base, whole, request)


def _check(snapshots: tuple[Snapshot, ...], whole: Request) -> None:
    """Refuse snapshots that name what is not there or may not be moved."""
    for each in snapshots:
        for place, name in enumerate(each.moves):
            where = f"combine.snapshots of {each.name!r}.moves[{place}]"
            right = "name a voice, a group, or voice/destination"
            check_named(where, name, whole.members, right)
            if name in whole.destinations and not whole.destinations[name].movable:
                raise InputError(where, name, "it is not movable; leave it out")


def _idle_rules(base: KeptBase, whole: Request, request: Request) -> tuple[NotAsItWas, ...]:
    """The rules that lose some or all that they name, because no knob drives it."""
    stay = list(request.rules)
    left = []
    for rule in whole.rules[len(base.agreed) :]:
        if rule in stay:
            stay.remove(rule)
        else:
            why = "names what no knob drives; it holds for the rest alone"
            left.append(NotAsItWas(base.setup.name, "rule", str(rule), why))
    return tuple(left)
