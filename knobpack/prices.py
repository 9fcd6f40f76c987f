"""Prices: what a layout costs, tier by tier and term by term."""

from __future__ import annotations

import attrs

TIERS = ("unplaced", "independence", "sharing", "change", "layout")
"""The tiers, the most important first. Each is made best before the next is looked at."""


@attrs.frozen
class Omission:
    """Tier *unplaced*: a destination left out."""

    destination: str
    price: int


@attrs.frozen
class Break:
    """Tier *independence*: what does the wrong thing on one knob in one snapshot.

    Args:
        snapshot: the snapshot that is broken.
        knob: the knob that carries both what it moves and what it holds.
        follows: whether the knob follows the master there.
        wronged: the destinations that are moved though held, or held though moved.
        price: the weight of the snapshot for each of them.
    """

    snapshot: str
    knob: str
    follows: bool
    wronged: tuple[str, ...]
    price: int


@attrs.frozen
class KnobPrice:
    """Tier *sharing*: what sharing one knob costs, term by term, in points.

    ``apart`` and ``alone`` are the prices of preferred rules that do not hold on the knob.
    """

    knob: str
    mix_kinds: int = 0
    mix_voices: int = 0
    crowd: int = 0
    travel: int = 0
    apart: int = 0
    alone: int = 0

    @property
    def price(self) -> int:
        """All terms together."""
        return sum(price for _, price in self.terms)

    @property
    def terms(self) -> tuple[tuple[str, int], ...]:
        """Each term by name, in points."""
        named = ("mix_kinds", "mix_voices", "crowd", "travel", "apart", "alone")
        return tuple((term, getattr(self, term)) for term in named)


@attrs.frozen
class SpreadPrice:
    """Tier *sharing*: what ought to be on one knob and is spread over more.

    Args:
        term: ``split`` for a bundle, ``together`` for a preferred rule.
        what: the bundle or rule, in words.
        knobs: the knobs that it is spread over.
        price: the weight for each knob more than one.
    """

    term: str
    what: str
    knobs: tuple[str, ...]
    price: int


@attrs.frozen
class Change:
    """Tier *change*: a route of the previous layout that is not in this one. Costs one point."""

    destination: str
    before: str
    now: str | None


@attrs.frozen
class PlacePrice:
    """Tier *layout*: what one term costs for one voice, group, destination or rule.

    Args:
        term: ``voice_runs``, ``group_runs``, ``favour``, ``habit``, ``fixed`` or ``barred``.
        what: the voice, group, destination or rule.
        price: in points.
    """

    term: str
    what: str
    price: int


@attrs.frozen
class Prices:
    """The price of a layout. Only what costs something is listed, but every used knob is.

    Args:
        omissions: tier *unplaced*: what each destination that is left out costs.
        breaks: tier *independence*: what each wrong thing that a knob does in a snapshot costs.
        knobs: tier *sharing*: what sharing each used knob costs, 0 too.
        spreads: tier *sharing*: what each bundle and each rule ``together`` costs that is spread
            over knobs.
        changes: tier *change*: each route of the previous layout that is gone.
        places: tier *layout*: what each voice, group, destination or rule costs by where it lies.
    """

    omissions: tuple[Omission, ...]
    breaks: tuple[Break, ...]
    knobs: tuple[KnobPrice, ...]
    spreads: tuple[SpreadPrice, ...]
    changes: tuple[Change, ...]
    places: tuple[PlacePrice, ...]

    @property
    def totals(self) -> tuple[int, ...]:
        """The value of each tier, in the order of :data:`TIERS`. Less is better."""
        return (
            sum(omission.price for omission in self.omissions),
            sum(broken.price for broken in self.breaks),
            sum(knob.price for knob in self.knobs) + sum(spread.price for spread in self.spreads),
            len(self.changes),
            sum(place.price for place in self.places),
        )
