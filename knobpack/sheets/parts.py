"""Parts: what a setup holds of each sort of step, to be compared."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import attrs

from knobpack.sheets import steps as kinds
from knobpack.sheets.steps import Value
from knobpack.words import Group, Setup, Snapshot, Voice


def same_in_any_order(one: Value, other: Value) -> bool:
    """Whether two values are the same but for wishes and the order of what they list."""
    return bool(in_name_order(one) == in_name_order(other))


def in_name_order(value: Any) -> Any:
    """A value, what it lists in the order of names, but for wishes."""
    match value:
        case Voice():
            inner = (attrs.evolve(each, travel=None) for each in value.destinations)
            return attrs.evolve(value, destinations=by_name(inner))
        case Group():
            return attrs.evolve(value, members=tuple(sorted(value.members)))
        case Snapshot():
            return attrs.evolve(
                value,
                moves=tuple(sorted(value.moves)),
                silent=tuple(sorted(value.silent)),
                idle=tuple(sorted(value.idle)),
                positions=tuple(sorted(value.positions, key=lambda each: each.knob)),
            )
    return value


def by_name(words: Iterable[Any]) -> tuple[Any, ...]:
    """Some words in the order of their names."""
    return tuple(sorted(words, key=lambda word: word.name))


def parts_of(setup: Setup) -> dict[str, dict[str, Any]]:
    """What a setup holds of each sort of step, by the names that such steps are about."""
    return {
        kinds.VOICE: {voice.name: voice for voice in setup.voices},
        kinds.GROUP: {group.name: group for group in setup.groups},
        # Each position is set by a step of its own.
        kinds.SNAPSHOT: {each.name: attrs.evolve(each, positions=()) for each in setup.snapshots},
        kinds.TRAVEL: {setting.knob: setting.travel for setting in setup.travels},
        kinds.LABEL: {each.knob: each.label for each in setup.labels},
        kinds.SENDING: {each.knob: each for each in setup.sending},
    }
