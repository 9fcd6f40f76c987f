"""Without: what is left of a request, or of a setup, where some of what it names is gone."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import attrs

from knobpack.words.request import Request
from knobpack.words.rules import Rule, member_lists
from knobpack.words.snapshot import Snapshot
from knobpack.words.voice import Group, Voice

Left = Callable[[Iterable[str]], tuple[str, ...]]
"""Makes of some names those that are left."""


def without_names(request: Request, voices: tuple[Voice, ...], gone: set[str]) -> Request:
    """The request with these voices, and nothing that names what is gone.

    Args:
        request: what is asked.
        voices: the voices that are left.
        gone: names of voices, groups and destinations. Groups that hold nothing else go too.
    """
    groups, left = groups_left(request.groups, gone.__contains__)
    keep, snapshots = request.keep, request.snapshots
    return attrs.evolve(
        request,
        voices=voices,
        groups=groups,
        snapshots=None if snapshots is None else snapshots_left(snapshots, left),
        rules=tuple(_rules_left(request.rules, left)),
        keep=attrs.evolve(
            keep,
            routes=tuple(route for route in keep.routes if route.destination not in gone),
            layers=tuple(place for place in keep.layers if place.voice not in gone),
        ),
        edited=left(request.edited),
    )


def groups_left(
    groups: tuple[Group, ...], goes: Callable[[str], bool]
) -> tuple[tuple[Group, ...], Left]:
    """Groups without what goes, those that hold nothing else gone; and what is left of any names.

    Args:
        groups: the groups.
        goes: whether a name goes.
    """
    emptied: set[str] = set()

    def left(names: Iterable[str]) -> tuple[str, ...]:
        return tuple(name for name in names if name not in emptied and not goes(name))

    while more := {e.name for e in groups if e.name not in emptied and not left(e.members)}:
        emptied |= more
    stay = (each for each in groups if each.name not in emptied)
    return tuple(attrs.evolve(each, members=left(each.members)) for each in stay), left


def snapshots_left(snapshots: Iterable[Snapshot], left: Left) -> tuple[Snapshot, ...]:
    """Snapshots that name nothing but what is left; all stay, though some may move nothing."""
    return tuple(
        attrs.evolve(each, moves=left(each.moves), silent=left(each.silent)) for each in snapshots
    )


def _rules_left(rules: Iterable[Rule], left: Left) -> Iterable[Rule]:
    for rule in rules:
        named: dict[str, Any] = {field: left(each) for field, each in member_lists(rule).items()}
        if all(named.values()):
            yield attrs.evolve(rule, **named)
