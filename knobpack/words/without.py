"""Without: what is left of a request where some of what it names is gone."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import attrs

from knobpack.words.layout import Layout
from knobpack.words.request import Request
from knobpack.words.rules import Rule, member_lists
from knobpack.words.voice import Voice


def without_names(request: Request, voices: tuple[Voice, ...], gone: set[str]) -> Request:
    """The request with these voices, and nothing that names what is gone.

    Args:
        request: what is asked.
        voices: the voices that are left.
        gone: names of voices, groups and destinations. Groups that hold nothing else go too.
    """
    groups = request.groups
    gone = set(gone)
    while any(gone.issuperset(group.members) for group in groups):
        gone |= {group.name for group in groups if gone.issuperset(group.members)}
        groups = tuple(group for group in groups if group.name not in gone)
    snapshots = request.snapshots
    if snapshots is not None:
        snapshots = tuple(
            attrs.evolve(each, moves=_left(each.moves, gone), silent=_left(each.silent, gone))
            for each in snapshots
        )
    return attrs.evolve(
        request,
        voices=voices,
        groups=tuple(attrs.evolve(each, members=_left(each.members, gone)) for each in groups),
        snapshots=snapshots,
        rules=tuple(_rules_left(request.rules, gone)),
        keep=_layout_left(request.keep, gone),
        edited=_left(request.edited, gone),
    )


def _rules_left(rules: Iterable[Rule], gone: set[str]) -> Iterable[Rule]:
    for rule in rules:
        left: dict[str, Any] = {
            field: _left(names, gone) for field, names in member_lists(rule).items()
        }
        if all(left.values()):
            yield attrs.evolve(rule, **left)


def _layout_left(layout: Layout, gone: set[str]) -> Layout:
    return attrs.evolve(
        layout,
        routes=tuple(route for route in layout.routes if route.destination not in gone),
        layers=tuple(place for place in layout.layers if place.voice not in gone),
    )


def _left(names: tuple[str, ...], gone: set[str]) -> tuple[str, ...]:
    return tuple(name for name in names if name not in gone)
