"""Wanted: all that a combination was asked for, and the request that it comes to."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import attrs

from knobpack.combination.base import KeptBase
from knobpack.combination.contribution import Contribution
from knobpack.combination.report import NotAsItWas, Source
from knobpack.combination.snapshots import SnapshotPlan
from knobpack.errors import InputError, given_as
from knobpack.words import Layout, Request, Rule, Setup, Weights
from knobpack.words.edits import only
from knobpack.words.fields import as_list, as_names, check_ordered
from knobpack.words.names import listed


@attrs.frozen
class Wanted:
    """What :func:`knobpack.combine` was asked for.

    Args:
        base: the setup that everything comes to.
        sources: the setups to bring voices from.
        name: what the result is called; None: the name of the base.
        rules: in the names of the result.
        free: what of the base may be moved.
        clear: the knobs of the base that do nothing and may be taken.
        give_up: the snapshots that are not to be added, or to stay.
        insist: those that are to be, whatever finds no knob then.
        leave: the destinations of the sources that are not to be driven.
        again: whether a source may be brought that is there already.
        unreached: whether to find a knob also for what no knob of its source drove.
        weights: what each thing a layout does badly costs; None: the default weights.
    """

    base: Setup
    sources: tuple[Source, ...]
    name: str | None = None
    rules: tuple[Rule, ...] = ()
    free: tuple[str, ...] = ()
    clear: tuple[str, ...] = ()
    give_up: tuple[str, ...] = ()
    insist: tuple[str, ...] = ()
    leave: tuple[str, ...] = ()
    again: bool = False
    unreached: bool = False
    weights: Weights | None = None

    @property
    def start(self) -> Setup:
        """The base, without those of its snapshots that are given up."""
        stay = tuple(each for each in self.base.snapshots if each.name not in self.give_up)
        return attrs.evolve(self.base, snapshots=stay)

    @property
    def not_added(self) -> tuple[str, ...]:
        """The snapshots that are given up and are none of the base's."""
        there = {each.name for each in self.base.snapshots}
        return tuple(name for name in self.give_up if name not in there)


def listed_in(what: str, given: Any) -> tuple[Any, ...]:
    """What is given as a list of anything."""
    return as_list(f"combine.{what}", given, "give a list")


def named_in(what: str, given: Any, called: Callable[[Any], tuple[str, ...]]) -> tuple[str, ...]:
    """Names in a list, or one alone; ``called`` says what each is called."""
    check_ordered(f"combine.{what}", given)
    return as_names(f"combine.{what}", given, called)


def sources_in(given: Sequence[Setup | Source]) -> tuple[Source, ...]:
    """Setups as sources: with all their voices, where nothing else is said."""
    for position, each in enumerate(given):
        if not isinstance(each, Setup | Source):
            raise InputError(f"combine.sources[{position}]", each, "give a Setup or a Source")
    return tuple(each if isinstance(each, Source) else Source(each) for each in given)


class ThereAlready(InputError):  # noqa: N818 - as Fault, it says what is so
    """Voices of a source are in the base already; the value is the name of the source.

    Args:
        field: which source it is.
        value: its name.
        voices: the voices of it that are there.
    """

    def __init__(self, field: str, value: str, voices: Sequence[str]) -> None:
        self.there = _are(voices)
        right = "take it away first (edit with Away), or bring it once more (again=True)"
        super().__init__(field, value, f"{self.there}; {right}")

    def __reduce__(self) -> tuple[Any, ...]:
        return InputError, (self.field, self.value, self.right)


def check_once(base: Setup, sources: Sequence[Source]) -> None:
    """Refuse a source of which something is there already, or that is given twice.

    Raises:
        InputError: says what is there.
    """
    for position, one in enumerate(sources):
        field, name = f"combine.sources[{position}]", one.setup.name
        there = _there(base, one)
        if there:
            raise ThereAlready(field, name, there)
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
        InputError: a rule names what is not there.
    """
    whole = Request(
        surface=base.surface,
        voices=(*base.voices, *(voice for one in brought for voice in one.voices)),
        groups=(*base.groups, *(group for one in brought for group in one.groups)),
        snapshots=(*plan.of_base(base.snapshots), *(each.snapshot for each in plan.new)),
        rules=base.agreed,
        keep=base.keep,
        previous=Layout(tuple(base.freed.values())) if base.freed else None,
        weights=Weights() if weights is None else weights,
    )
    for position, rule in enumerate(rules):
        with given_as(f"Request.rules[{len(whole.rules)}]", f"combine.rules[{position}]"):
            whole = attrs.evolve(whole, rules=(*whole.rules, rule))
    wanted = {name for one in brought for name in one.wanted}
    wanted |= {route.destination for route in base.keep.routes} | set(base.freed)
    request = only(whole, wanted)
    return request, _idle_rules(base, whole, request)


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
