"""Wanted: all that a combination was asked for, so that it can be asked for again with a change."""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from knobpack.combination.report import Source
from knobpack.errors import InputError
from knobpack.words import Rule, Setup, Snapshot, Weights
from knobpack.words.names import listed


@attrs.frozen
class Wanted:
    """What :func:`knobpack.combine` was asked for.

    Args:
        base: the setup that everything comes to.
        sources: the setups to bring voices from.
        name: what the result is called; None: the name of the base.
        rules: in the names of the result.
        snapshots: to have in place of all but the base's; None: what a player expects.
        free: what of the base may be moved.
        clear: the knobs of the base that do nothing and may be taken.
        give_up: the snapshots that are not to be added.
        leave: the destinations of the sources that are not to be driven.
        again: whether a source may be brought that is there already.
        unreached: whether to find a knob also for what no knob of its source drove.
        weights: what each thing a layout does badly costs; None: the default weights.
    """

    base: Setup
    sources: tuple[Source, ...]
    name: str | None = None
    rules: tuple[Rule, ...] = ()
    snapshots: tuple[Snapshot, ...] | None = None
    free: tuple[str, ...] = ()
    clear: tuple[str, ...] = ()
    give_up: tuple[str, ...] = ()
    leave: tuple[str, ...] = ()
    again: bool = False
    unreached: bool = False
    weights: Weights | None = None


class ThereAlready(InputError):  # noqa: N818 - as Fault, it says what is so
    """Voices of a source are in the base already; the value is the name of the source."""


def check_once(base: Setup, sources: Sequence[Source]) -> None:
    """Refuse a source of which something is there already, or that is given twice.

    Raises:
        InputError: says what is there.
    """
    for position, one in enumerate(sources):
        field, name = f"combine.sources[{position}]", one.setup.name
        there = _there(base, one)
        if there:
            right = f"{_are(there)}; take it away first, or ask for it again"
            raise ThereAlready(field, name, right)
        for other in sources[:position]:
            twice = [each for each in one.picked if each in other.picked]
            if other.setup == one.setup and twice:
                right = f"{_are(twice)}; leave it out, or ask for it again"
                raise InputError(field, name, right)


def _are(voices: Sequence[str]) -> str:
    return f"{listed(voices, 4)} of it {'is' if len(voices) == 1 else 'are'} there already"


def _there(base: Setup, source: Source) -> list[str]:
    """The voices of a source that a base seems to have from it: of its name, with its inputs."""
    came = [voice for voice in base.voices if voice.source == source.setup.name]
    found = []
    for voice in source.setup.voices:
        inner = [(each.name, each.kind) for each in voice.destinations]
        for other in came:
            called = other.name == voice.name or other.name.startswith(f"{voice.name} (")
            if called and [(each.name, each.kind) for each in other.destinations] == inner:
                found.append(voice.name)
                break
    return [name for name in found if name in source.picked]
