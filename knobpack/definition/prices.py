"""Prices: what a layout costs, tier by tier and term by term."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import TypeAlias

import attrs

from knobpack.text.shown import Fielded
from knobpack.words.fields import check_named
from knobpack.words.names import knob_told, listed
from knobpack.words.travel import Travel

TIERS = ("unplaced", "bundles", "independence", "sharing", "change", "layout")
"""The tiers, the most important first. Each is made best before the next is looked at."""

IN_USE_TIERS = ("unplaced", "independence", "change", "bundles", "sharing", "layout")
"""The same for an edit of a setup that is in use: little is to change before it gets better."""


@attrs.frozen
class Omission(Fielded):
    """A destination left out.

    Args:
        destination: its full name.
        price: in the tier *unplaced*; 0 for what is hidden.
        hidden: in the tier *sharing*, for what is hidden; 0 for all else.
    """

    destination: str
    price: int
    hidden: int = 0

    @property
    def points(self) -> Iterator[tuple[str, str, str, int]]:
        """What it costs, by tier, term and what it is about."""
        yield "unplaced", "omission", self.destination, self.price
        yield "sharing", "omission", self.destination, self.hidden


@attrs.frozen
class BundlePrice(Fielded):
    """Tier *bundles*: a bundle that is not whole, or a hidden destination that joins others.

    Args:
        term: ``parted`` for a bundle, ``intruding`` for a hidden destination on a knob with what is
            not of its bundle.
        what: the bundle in words, or the destination.
        knobs: the knobs that carry some of it.
        left_out: those of its destinations that are left out.
        price: for a bundle, its knobs and what is left out, less one; for a destination, one.
    """

    term: str
    what: str
    knobs: tuple[str, ...]
    left_out: tuple[str, ...]
    price: int

    @property
    def points(self) -> Iterator[tuple[str, str, str, int]]:
        """What it costs, by tier, term and what it is about."""
        yield "bundles", self.term, self.what, self.price


BUNDLE_TERMS = {"parted": "parted", "intruding": "hidden, on a knob with others"}
"""What each term of the tier *bundles* is called."""


@attrs.frozen
class Break(Fielded):
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

    def __str__(self) -> str:
        wrong = "follows, but should hold" if self.follows else "holds, but should move"
        return f"{knob_told(self.knob)} {wrong} {listed(self.wronged)}"

    @property
    def points(self) -> Iterator[tuple[str, str, str, int]]:
        """What it costs, by tier, term and what it is about."""
        what = f"snapshot '{self.snapshot}' on {knob_told(self.knob)}"
        yield "independence", "break", what, self.price


@attrs.frozen
class KnobPrice(Fielded):
    """Tier *sharing*: what sharing one knob costs, term by term, in points.

    Args:
        knob: its name.
        mix_kinds: for each kind more than one.
        mix_voices: for each voice more than one.
        join: for each load more than one, and each two more than one.
        essential: for each load more than one with something essential.
        company: where not all on it is essential, but some; and for each voice with something
            essential beside another voice.
        crowd: for each destination more than one.
        travel: for the travels that its own misses.
        apart: for preferred rules of that name that do not hold on it.
        alone: likewise.
        held: for each way to stand more than one in the snapshots that hold it.
    """

    knob: str
    mix_kinds: int = attrs.field(default=0, metadata={"called": "kinds mixed"})
    mix_voices: int = attrs.field(default=0, metadata={"called": "voices mixed"})
    join: int = attrs.field(default=0, metadata={"called": "separate control lost"})
    essential: int = attrs.field(default=0, metadata={"called": "essentials joined"})
    company: int = attrs.field(default=0, metadata={"called": "beside what is essential"})
    crowd: int = attrs.field(default=0, metadata={"called": "crowding"})
    travel: int = attrs.field(default=0, metadata={"called": "other travels than wanted"})
    apart: int = attrs.field(default=0, metadata={"called": "not apart"})
    alone: int = attrs.field(default=0, metadata={"called": "not alone"})
    held: int = attrs.field(default=0, metadata={"called": "other positions where it is held"})

    @property
    def price(self) -> int:
        """All terms together."""
        return sum(price for _, price in self.terms)

    @property
    def terms(self) -> tuple[tuple[str, int], ...]:
        """Each term by name, in points."""
        return tuple((name, getattr(self, name)) for name in KNOB_TERMS)

    @property
    def points(self) -> Iterator[tuple[str, str, str, int]]:
        """What it costs, by tier, term and what it is about."""
        for term in KNOB_TERMS:
            yield "sharing", term, self.knob, getattr(self, term)


KNOB_TERMS = {
    each.name: str(each.metadata["called"]) for each in attrs.fields(KnobPrice) if each.metadata
}
"""What each term of a shared knob is called, in words a player knows."""


@attrs.frozen
class SpreadPrice(Fielded):
    """Tier *sharing*: what a preferred ``together`` rule has on one knob and is spread over more.

    Args:
        term: ``together``.
        what: the rule, in words.
        knobs: the knobs that it is spread over.
        price: the weight for each knob more than one.
    """

    term: str
    what: str
    knobs: tuple[str, ...]
    price: int

    @property
    def points(self) -> Iterator[tuple[str, str, str, int]]:
        """What it costs, by tier, term and what it is about."""
        yield "sharing", self.term, self.what, self.price


SPREAD_TERMS = {"together": "rule not met"}
"""What each term of a spread is called."""


@attrs.frozen
class Change(Fielded):
    """Tier *change*: a route of the previous layout that is not in this one.

    Args:
        destination: its full name.
        before: its knob in the previous layout.
        now: its knob in this one; None: it is left out.
        price: more than the importance of all routes and all travels that can be set anew, and
            its own importance.
    """

    destination: str
    before: str
    now: str | None
    price: int

    @property
    def points(self) -> Iterator[tuple[str, str, str, int]]:
        """What it costs, by tier, term and what it is about."""
        yield "change", "change", self.destination, self.price


@attrs.frozen
class MovedBundle(Fielded):
    """Tier *change*: what a knob drove in the previous layout and does not drive whole in this one.

    Args:
        knob: the knob.
        names: what it drove of what is still there and the edit does not name, by full name.
        price: more than all routes that can change.
    """

    knob: str
    names: tuple[str, ...]
    price: int

    @property
    def points(self) -> Iterator[tuple[str, str, str, int]]:
        """What it costs, by tier, term and what it is about."""
        yield "change", "moved", self.knob, self.price


@attrs.frozen
class Reset(Fielded):
    """Tier *change*: a travel that is set anew on a knob that keeps a route.

    In an edit only where the knob gets nothing new.

    Args:
        knob: the knob.
        before: its travel in the previous layout, in positions.
        now: its travel in this one.
        price: one point.
    """

    knob: str
    before: Travel
    now: Travel
    price: int = 1

    @property
    def points(self) -> Iterator[tuple[str, str, str, int]]:
        """What it costs, by tier, term and what it is about."""
        yield "change", "reset", self.knob, self.price


@attrs.frozen
class PlacePrice(Fielded):
    """Tier *layout*: what one term costs for one voice, group, destination or rule.

    Args:
        term: ``sequence``, ``voice_runs``, ``group_runs``, ``favour``, ``habit``, ``fixed`` or
            ``barred``.
        what: the voice, group, destination or rule; of a sequence, what comes later.
        price: in points.
    """

    term: str
    what: str
    price: int

    @property
    def points(self) -> Iterator[tuple[str, str, str, int]]:
        """What it costs, by tier, term and what it is about."""
        yield "layout", self.term, self.what, self.price


PLACE_TERMS = {
    "sequence": "not directly after what came before it",
    "voice_runs": "voices not side by side",
    "group_runs": "groups not side by side",
    "favour": "away from the best knobs to reach",
    "habit": "kinds off their usual knobs",
    "fixed": "rules not met",
    "barred": "rules not met",
}
"""What each term of the tier *layout* is called."""


Price: TypeAlias = (
    Omission
    | BundlePrice
    | Break
    | KnobPrice
    | SpreadPrice
    | Change
    | MovedBundle
    | Reset
    | PlacePrice
)
"""One thing that a layout costs."""


@attrs.frozen
class Prices(Fielded):
    """The price of a layout. Only what costs something is listed, but every used knob is.

    Args:
        omissions: tiers *unplaced* and *sharing*: what each destination that is left out costs.
        bundles: tier *bundles*: what each bundle costs that is not whole.
        breaks: tier *independence*: what each wrong thing that a knob does in a snapshot costs.
        knobs: tier *sharing*: what sharing each used knob costs, 0 too.
        spreads: tier *sharing*: what each preferred ``together`` costs that is spread over knobs.
        changes: tier *change*: each route of the previous layout that is gone.
        moved: tier *change*: each bundle of the previous layout that is not where it was.
        resets: tier *change*: each travel that is set anew where a route stays.
        places: tier *layout*: what each voice, group, destination or rule costs by where it lies.
        order: the names of the tiers, the most important first.
    """

    omissions: tuple[Omission, ...]
    bundles: tuple[BundlePrice, ...]
    breaks: tuple[Break, ...]
    knobs: tuple[KnobPrice, ...]
    spreads: tuple[SpreadPrice, ...]
    changes: tuple[Change, ...]
    moved: tuple[MovedBundle, ...]
    resets: tuple[Reset, ...]
    places: tuple[PlacePrice, ...]
    order: tuple[str, ...] = TIERS

    @property
    def totals(self) -> tuple[int, ...]:
        """The value of each tier, in :attr:`order`. Less is better."""
        return tuple(self._by_tier[tier] for tier in self.order)

    def total(self, tier: str) -> int:
        """The value of one tier.

        Args:
            tier: one of :data:`TIERS`.

        Returns:
            Its value, in points.

        Raises:
            InputError: there is no such tier.
        """
        return self._by_tier[check_named("Prices.total.tier", tier, TIERS, "name a tier")]

    @property
    def points(self) -> Iterator[tuple[str, str, str, int]]:
        """All that it costs, by tier, term and what that is about."""
        for each in (
            *(self.omissions, self.bundles, self.breaks, self.knobs, self.spreads),
            *(self.changes, self.moved, self.resets, self.places),
        ):
            for price in each:
                yield from price.points

    @cached_property
    def _by_tier(self) -> dict[str, int]:
        found = dict.fromkeys(TIERS, 0)
        for tier, _, _, price in self.points:
            found[tier] += price
        return found


def tiers_of(in_use: bool) -> tuple[str, ...]:
    """The tiers in their order: for an edit of a setup in use, or for all else."""
    return IN_USE_TIERS if in_use else TIERS
