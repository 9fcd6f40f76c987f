"""Allocation: a layout, checked, with what it costs and how far that is proven."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import attrs

from knobpack.allocation.records import (
    Following,
    NewLayer,
    Record,
    Tier,
    Tiered,
    records,
)
from knobpack.definition.importance_prices import hidden_price
from knobpack.definition.phrases import (
    ESSENTIAL,
    PER_ROUTE,
    PRIORITIES,
    TIER_WORDS,
    essential_told,
    many,
    travel_text,
)
from knobpack.definition.prices import Prices
from knobpack.errors import Stopped, ended
from knobpack.questions import AskedElsewhere, AskedOfAllocation
from knobpack.reasons.bundle_changes import (
    JoinedBundles,
    PartedBundle,
    joined_bundles,
    joined_told,
    parted_bundles,
)
from knobpack.reasons.graph import layout_graph
from knobpack.setups.missed_travels import MissedTravel, missed_in, missed_told
from knobpack.text.shown import Told, counted, html_list, html_table
from knobpack.words import Knob, KnobTravel, Layout, Request, Route, Setup, Travel, VoiceLayer
from knobpack.words.converters import knob_name
from knobpack.words.fields import check_name, check_named
from knobpack.words.names import knob_told, knobs_told
from knobpack.words.request import check_asked

if TYPE_CHECKING:
    import networkx as nx


@attrs.frozen
class Allocation(Told, AskedOfAllocation, AskedElsewhere, Tiered):
    """A layout, checked, with what it costs and how far that is proven best.

    Args:
        request: what was asked.
        routes: every route, in panel order.
        travels: the travel of every used knob, in positions of the surface's resolution. None
            where the surface sets travels on routes: they stand in the routes.
        following: for every snapshot, the knobs that follow the master.
        unplaced: the full names of the destinations left out.
        layers: the layer of every voice.
        tiers: value, bound and proof of every tier, the most important first.
        prices: the cost of every tier, term by term, as the plain checker recomputed it.
        stopped: what cut the search short (``time limit``; ``a share of the time limit``: one part
            of it had no more; ``cancelled``; ``effort``; ``the limits of its methods``: more effort
            would prove no more; ``its show``: a song is laid out as is best for that); None if
            nothing did.
    """

    request: Request = attrs.field(repr=False)
    routes: tuple[Route, ...] = attrs.field(repr=counted)
    travels: tuple[KnobTravel, ...] = attrs.field(repr=counted)
    following: tuple[Following, ...] = attrs.field(repr=counted)
    unplaced: tuple[str, ...]
    layers: tuple[NewLayer, ...] = attrs.field(repr=counted)
    tiers: tuple[Tier, ...]
    prices: Prices = attrs.field(repr=False)
    stopped: Stopped | None = None

    @classmethod
    def of(cls, request: Request, layout: Layout) -> Allocation:
        """The allocation of a layout that was made elsewhere: checked, priced, not proven best.

        Args:
            request: what is asked.
            layout: a layout that meets every demand of it. A knob that it sets no travel for gets
                the cheapest; where it gives no layers, they are given as for any other.

        Returns:
            The allocation. Every tier has its value, and 0 as its bound.

        Raises:
            InputError: ``request`` is no Request or ``layout`` no Layout, the layout names what the
                request does not have, or it does not meet a demand.

        Example:
            >>> from knobpack import Allocation, Destination, Layout, Request, Surface, Voice
            >>> organ = Voice("Organ", [Destination("level"), Destination("drive")])
            >>> by_hand = Layout.of({"K2": ["Organ/level", "Organ/drive"]})
            >>> found = Allocation.of(Request(Surface.row(2), [organ]), by_hand)
            >>> found.knob_of("Organ/drive"), found.proven
            ('K2', False)
        """
        from knobpack.allocation.checked import allocation_of

        return allocation_of(request, layout)

    @property
    def essential_out(self) -> tuple[str, ...]:
        """The full names of what is essential (priority 1) and left out."""
        inner = self.request.by_full_name
        return tuple(name for name in self.unplaced if inner[name].priority == ESSENTIAL)

    @property
    def missed(self) -> tuple[MissedTravel, ...]:
        """The travels that are wanted, or were had, and that their knob has not."""
        return missed_in(self.request, self.layout)

    @property
    def alarming(self) -> tuple[MissedTravel, ...]:
        """Those of them that a player must know before the first note, such as turned round."""
        return tuple(each for each in self.missed if each.alarming)

    @property
    def layout(self) -> Layout:
        """Its routes, travels and layers: to check again, to keep, or to stay close to."""
        layers = tuple(VoiceLayer(place.voice, place.new) for place in self.layers)
        return Layout(self.routes, self.travels, layers)

    @property
    def graph(self) -> nx.MultiDiGraph[str]:
        """Everything that is asked and what the layout does about it, as a network of facts.

        See :func:`knobpack.reasons.graph.layout_graph` for its nodes and edges. It is made anew
        each time.
        """
        return layout_graph(self.request, self.layout, self.prices)

    @property
    def used(self) -> tuple[str, ...]:
        """The knobs that drive something, in panel order."""
        driving = {route.knob for route in self.routes}
        return tuple(knob for knob in self.request.surface.knob_names if knob in driving)

    def on(self, knob: str | Knob) -> tuple[str, ...]:
        """The full names of what a knob drives.

        Args:
            knob: a knob, or its name.

        Returns:
            The full names, in the order of the routes; none for a knob that drives nothing.

        Raises:
            InputError: the surface has no such knob.
        """
        where, panel = "Allocation.on.knob", self.request.surface.knob_names
        name = check_named(where, knob_name(knob), panel, "name a knob of the surface")
        return tuple(route.destination for route in self.routes if route.knob == name)

    def knob_of(self, destination: str) -> str | None:
        """The knob that drives a destination.

        Args:
            destination: a full name.

        Returns:
            The name of the knob; None if the destination is left out.

        Raises:
            InputError: the request has no such destination.
        """
        check_asked("Allocation.knob_of.destination", destination, self.request)
        return next((each.knob for each in self.routes if each.destination == destination), None)

    def travel_of(self, destination: str) -> Travel | None:
        """The travel that a destination goes over as the master goes from bottom to top.

        Args:
            destination: a full name.

        Returns:
            The travel, that of its knob or, on a surface that sets travels on routes, of its route;
            None if the destination is left out.

        Raises:
            InputError: the request has no such destination.
        """
        check_asked("Allocation.travel_of.destination", destination, self.request)
        return self.layout.goes.get(destination)

    def to_records(self) -> list[Record]:
        """A record for each destination, as ``pandas.DataFrame`` and ``csv.DictWriter`` take them.

        Returns:
            New dicts, in the order of the request, all with the same keys: ``destination`` (its
            full name), ``voice``, ``name``, ``kind``, ``priority``, ``layer``, ``knob``, ``start``
            and ``end`` (of its travel, in positions), and for each snapshot ``moves in`` and its
            name, whether it moves there. What is left out has None for knob, start and end.
        """
        return records(self)

    def setup(self, name: str) -> Setup:
        """The allocation as a setup: the voices at their new layers, all that is programmed.

        Args:
            name: what the setup is called.

        Returns:
            The setup, with the snapshots that were played.

        Raises:
            InputError: ``name`` is not a name.
        """
        check_name("Allocation.setup.name", name)
        new = {place.voice: place.new for place in self.layers}
        voices = tuple(attrs.evolve(voice, layer=new[voice.name]) for voice in self.request.voices)
        request = self.request
        # Where a knob stands that follows now is the master's to say; what drives is not idle.
        snapshots = tuple(
            attrs.evolve(
                each,
                positions=tuple(p for p in each.positions if p.knob not in told.knobs),
                idle=tuple(knob for knob in each.idle if knob not in self.used),
            )
            for each, told in zip(request.played, self.following, strict=True)
        )
        return Setup(
            name,
            request.surface,
            voices,
            groups=request.groups,
            routes=self.routes,
            travels=self.travels,
            snapshots=snapshots,
        )

    @property
    def sentences(self) -> tuple[str, ...]:
        """What is lost or alarming, which bundles changed, how good it is; then the rest."""
        return tuple(self._told())

    @property
    def parted(self) -> tuple[PartedBundle, ...]:
        """The bundles that are not whole, and what parts them."""
        return parted_bundles(self.request, self._on)

    @property
    def joined(self) -> tuple[JoinedBundles, ...]:
        """The knobs that carry what several knobs of the sources drove, and why."""
        return joined_bundles(self.request, self._on, least=self.tier("sharing").proven)

    @property
    def _bundles(self) -> tuple[str, ...]:
        return (*joined_told(self.joined), *map(str, self.parted))

    @property
    def _on(self) -> dict[str, tuple[str, ...]]:
        return {knob: self.on(knob) for knob in self.used}

    def _told(self) -> Iterator[str]:
        yield from self.headlines
        yield from (str(each) for each in self.joined if each.asked)
        for knob, travel, driven, _ in self._knobs():
            yield f"{knob_told(knob)}, {travel}: drives {driven}."
        for each in self.following:
            yield f"'{each.snapshot}' moves {knobs_told(each.knobs) or 'nothing'}."
        for place in self.layers:
            yield f"{place.voice} is on layer {place.new}."
        yield from self._left_out

    @property
    def headlines(self) -> tuple[str, ...]:
        """What is told first: what is lost or alarming, which bundles changed, how good it is."""
        alarming = (f"{told}." for told in missed_told(m for m in self.missed if m.told_first))
        return (*essential_told(self.essential_out), *alarming, *self._bundles, self._verdict)

    @property
    def _verdict(self) -> str:
        used = len(self.used)
        placed, every = len(self.routes), len(self.routes) + len(self.unplaced)
        stopped = f", {ended(self.stopped)}" if self.stopped else ""
        where = f"{placed} of {many(every, 'destination')} on {many(used, 'knob')}"
        if self.stopped == "its show":
            return f"{where}, laid out for its show."
        if not self.unplaced:
            return f"{where}, {'' if self.proven else 'not '}proven best{stopped}."
        hidden = sum(1 for name in self.unplaced if hidden_price(self.request, name))
        if hidden:
            ones, are = ("one", "is") if hidden == 1 else ("ones", "are")
            where += f"; {hidden:,} hidden {ones} {are} left out"
            where += ", as none is worth sharing a knob" * self.tier("sharing").proven
        # Nothing is called best in one breath with a part that is missing.
        better = "No layout is better, proven"
        if not self.proven:
            better = f"No better layout was found, but that is not proven{stopped}"
        return f"{where}. {better}."

    @property
    def _left_out(self) -> Iterator[str]:
        for name in self.unplaced:
            rank = PRIORITIES[self.request.by_full_name[name].priority - 1]
            yield f"{name} ({rank}) is left out."

    def _knobs(self) -> Iterator[tuple[str, str, str, str]]:
        """Each knob in use: its travel, what it drives, and when it follows the master."""
        surface, goes = self.request.surface, self.layout.goes
        for knob, names in self._on.items():
            travel = travel_text(goes[names[0]], surface.top)
            driven = ", ".join(names)
            if surface.per_route:
                travel = f"travel {PER_ROUTE}"
                driven = ", ".join(
                    f"{name} over {travel_text(goes[name], surface.top)}" for name in names
                )
            moved = (each.snapshot for each in self.following if knob in each.knobs)
            yield knob, travel, driven, ", ".join(moved)

    @property
    def _parts(self) -> Sequence[str]:
        tiers = (
            (
                TIER_WORDS[each.name],
                f"{each.value:,}",
                each.proof,
            )
            for each in self.tiers
        )
        layers = (
            (p.voice, p.source or "", "" if p.old is None else str(p.old), str(p.new))
            for p in self.layers
        )
        return (
            html_list((*self.headlines, *self._left_out)),
            html_table(
                "Knobs", ("knob", "travel", "drives", "follows the master in"), tuple(self._knobs())
            ),
            html_table("Points, fewer are better", ("tier", "points", "proof"), tuple(tiers)),
            html_table("Layers", ("voice", "from", "old", "new"), tuple(layers)),
        )
