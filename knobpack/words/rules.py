"""The rules a caller can lay down. Each is required, or preferred with a weight.

Wherever a rule takes names, each is a voice, a group, or ``voice/destination``; a voice or group
stands for all its destinations.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Collection, Iterable, Mapping
from typing import Any

import attrs

from knobpack.text.shown import Fielded
from knobpack.words import converters, fields
from knobpack.words.names import knob_told, knobs_told, listed
from knobpack.words.rule_effects import Named, RuleEffect

__all__ = ["Alone", "Apart", "Barred", "Fixed", "Together"]
"""The rules, as they are offered wherever words are."""


@attrs.frozen
class Rule(Fielded, ABC):
    """What all rules are: required, or preferred with a weight."""

    @property
    @abstractmethod
    def weight(self) -> int | None:
        """Points for it, where the rule is preferred; None: it is required."""

    @property
    @abstractmethod
    def phrase(self) -> str:
        """What it asks for, in a player's words."""

    def __str__(self) -> str:
        fields_of = (each.name for each in attrs.fields(type(self)) if each.name != "weight")
        held = (getattr(self, name) for name in fields_of)
        told = (each if isinstance(each, str) else ", ".join(each) for each in held)
        return f"{type(self).__name__.lower()}({'; '.join(told)})"

    def effect(self, named: Named, panel: Iterable[str]) -> RuleEffect:
        """What it does: numbering, facts, graph, clashes, edits and questions go by this alone.

        Args:
            named: gives the full names of what some names stand for.
            panel: the names of all knobs.

        Returns:
            What it does to the destinations that it names.
        """
        return self._effect(named, tuple(panel))

    @abstractmethod
    def _effect(self, named: Named, _panel: tuple[str, ...], /) -> RuleEffect:
        """What it does, of all that rules can do."""


@attrs.frozen
class Together(Rule):
    """All the destinations named are on one knob, or none of them is placed.

    Preferred: each knob more than one that they spread over costs ``weight`` (sharing tier), and on
    one knob they count as one load: nothing is lost there that was to be moved apart, so they cost
    no ``join`` and no ``heap`` (see :class:`knobpack.Weights`). Else no wish would come true that
    weighs less than those.

    Args:
        names: one name or several, of destinations (``voice/destination``), voices or groups; each
            once.
        weight: points for it, 1 to 10,000, where the rule is preferred; None: it is required.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    names: tuple[str, ...] = attrs.field(
        converter=converters.member_names, validator=fields.names(slash=True, least=1)
    )
    weight: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.rule_weight(),
    )

    @property
    def phrase(self) -> str:
        """What it asks for, in a player's words."""
        return f"{listed(self.names)} on one knob"

    def _effect(self, named: Named, _panel: tuple[str, ...], /) -> RuleEffect:
        return RuleEffect(self, joined=named(self.names))


@attrs.frozen
class Apart(Rule):
    """No destination of ``first`` is on one knob with a destination of ``second``.

    Preferred: each pair that is costs ``weight`` (sharing tier), so this is also how a caller
    states a cost of its own for a pair. With the same names on both sides no two of them share
    a knob; preferred, two on one cost ``weight``, three thrice that, which spreads them.

    Args:
        first: one name or several, of destinations (``voice/destination``), voices or groups; each
            once.
        second: likewise, those of the other side.
        weight: points for it, 1 to 10,000, where the rule is preferred; None: it is required.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    first: tuple[str, ...] = attrs.field(
        converter=converters.member_names, validator=fields.names(slash=True, least=1)
    )
    second: tuple[str, ...] = attrs.field(
        converter=converters.member_names, validator=fields.names(slash=True, least=1)
    )
    weight: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.rule_weight(),
    )

    @property
    def phrase(self) -> str:
        """What it asks for, in a player's words."""
        others = "" if set(self.first) == set(self.second) else f" from {listed(self.second)}"
        return f"{listed(self.first)} parted{others}"

    def _effect(self, named: Named, _panel: tuple[str, ...], /) -> RuleEffect:
        return RuleEffect(self, parted=(named(self.first), named(self.second)))


@attrs.frozen
class Alone(Rule):
    """Nothing but the destinations named is on their knobs; among themselves they may share.

    Preferred: each knob that carries both one of them and another costs ``weight`` (sharing
    tier).

    Args:
        names: one name or several, of destinations (``voice/destination``), voices or groups; each
            once.
        weight: points for it, 1 to 10,000, where the rule is preferred; None: it is required.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    names: tuple[str, ...] = attrs.field(
        converter=converters.member_names, validator=fields.names(slash=True, least=1)
    )
    weight: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.rule_weight(),
    )

    @property
    def phrase(self) -> str:
        """What it asks for, in a player's words."""
        their = "its" if len(self.names) == 1 else "their"
        return f"{listed(self.names)} on a knob of {their} own"

    def _effect(self, named: Named, _panel: tuple[str, ...], /) -> RuleEffect:
        return RuleEffect(self, alone=named(self.names))


@attrs.frozen
class Fixed(Rule):
    """The destinations named are placed, on this knob.

    Preferred: each of them that is placed on another knob costs ``weight`` (layout tier).

    Args:
        names: one name or several, of destinations (``voice/destination``), voices or groups; each
            once.
        knob: the name of the knob.
        weight: points for it, 1 to 10,000, where the rule is preferred; None: it is required.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    names: tuple[str, ...] = attrs.field(
        converter=converters.member_names, validator=fields.names(slash=True, least=1)
    )
    knob: str = attrs.field(converter=converters.knob_name, validator=fields.name())
    weight: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.rule_weight(),
    )

    @property
    def phrase(self) -> str:
        """What it asks for, in a player's words."""
        return f"{listed(self.names)} on {knob_told(self.knob)}"

    def _effect(self, named: Named, panel: tuple[str, ...], /) -> RuleEffect:
        off = tuple(knob for knob in panel if knob != self.knob)
        return RuleEffect(self, limited=named(self.names), off=off, on=self.knob)


@attrs.frozen
class Barred(Rule):
    """The destinations named are on none of these knobs.

    Preferred: each of them that is costs ``weight`` (layout tier).

    Args:
        names: one name or several, of destinations (``voice/destination``), voices or groups; each
            once.
        knobs: the names of the knobs, one or several; each once.
        weight: points for it, 1 to 10,000, where the rule is preferred; None: it is required.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    names: tuple[str, ...] = attrs.field(
        converter=converters.member_names, validator=fields.names(slash=True, least=1)
    )
    knobs: tuple[str, ...] = attrs.field(
        converter=converters.knob_names, validator=fields.names(least=1)
    )
    weight: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.rule_weight(),
    )

    @property
    def phrase(self) -> str:
        """What it asks for, in a player's words."""
        return f"{listed(self.names)} not on {knobs_told(self.knobs)}"

    def _effect(self, named: Named, _panel: tuple[str, ...], /) -> RuleEffect:
        return RuleEffect(self, limited=named(self.names), off=self.knobs)


RULES: tuple[type[Rule], ...] = (Together, Apart, Alone, Fixed, Barred)


def member_lists(rule: Rule) -> dict[str, tuple[str, ...]]:
    """What a rule names by voice, group or destination, under the fields that name it."""
    fields_of = attrs.fields_dict(type(rule))
    return {each: getattr(rule, each) for each in ("names", "first", "second") if each in fields_of}


def rule_knobs(rule: Rule) -> dict[str, str]:
    """The knobs that a rule names, under where it names them: ``knob``, or ``knobs[0]``."""
    several: tuple[str, ...] = getattr(rule, "knobs", ())
    found = {f"knobs[{position}]": knob for position, knob in enumerate(several)}
    one: str | None = getattr(rule, "knob", None)
    return found | ({} if one is None else {"knob": one})


def rule_on(rule: Rule, knobs: Mapping[str, str]) -> Rule | None:
    """A rule on another panel: its knobs as they are called there; None: it has none of them."""
    own = rule_knobs(rule)
    if not own:
        return rule
    there = tuple(knobs[knob] for knob in own.values() if knob in knobs)
    if not there:
        return None
    several = hasattr(rule, "knobs")
    told: dict[str, Any] = {"knobs": there} if several else {"knob": there[0]}
    return attrs.evolve(rule, **told)


def rule_without(rule: Rule, names: Collection[str]) -> Rule | None:
    """A rule without some of what it names.

    Args:
        rule: the rule.
        names: what is gone, by the names that the rule uses.

    Returns:
        A rule that names the rest; None where it then says nothing.
    """
    left: dict[str, Any] = {field: _rest(each, names) for field, each in member_lists(rule).items()}
    effect = rule.effect(tuple, ())
    least = 2 if effect.joined or effect.parted else 1
    enough = all(left.values()) and len({name for each in left.values() for name in each}) >= least
    return attrs.evolve(rule, **left) if enough else None


def _rest(names: Iterable[str], gone: Collection[str]) -> tuple[str, ...]:
    return tuple(name for name in names if name not in gone)
