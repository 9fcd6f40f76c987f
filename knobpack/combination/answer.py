"""Answer: what a combination came to, what is lost first, then how it is laid out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

import attrs

from knobpack.allocation import Allocation, Following
from knobpack.allocation.records import following_in
from knobpack.auditing.audit import torn_told
from knobpack.combination.offer import Offer
from knobpack.combination.report import (
    CROWDED_OUT,
    NONE_SOUGHT,
    NOT_ALONE,
    Brought,
    Carried,
    GaveWay,
    IdleKnob,
    NotAsItWas,
    Played,
    Slip,
    Unlayered,
)
from knobpack.combination.wanted import Wanted
from knobpack.definition.importance_prices import omission_price
from knobpack.definition.phrases import ESSENTIAL, essential_told, many, travel_text
from knobpack.errors import Stopped, ended
from knobpack.grouped import grouped
from knobpack.questions import AskedElsewhere
from knobpack.setups.missed_travels import MissedTravel, missed_told
from knobpack.setups.sounding import sounding_told
from knobpack.setups.stored_positions import Overruled, overruled_told
from knobpack.setups.undriven import undriven_in, undriven_told
from knobpack.setups.wished_travels import regained_told
from knobpack.text.columns import sentence
from knobpack.text.shown import Told, counted
from knobpack.words import Request, Setup
from knobpack.words.names import knob_told, listed, quoted


@attrs.frozen
class Combination(Told, AskedElsewhere):
    """Setups combined: the result, and where everything went.

    Args:
        base: the name of the base.
        request: what was asked of the allocation.
        allocation: the best layout, with its proof.
        setup: the result, all that is to be programmed; what the base had stands unchanged.
        carried: every destination that a knob was looked for: those of the base that were freed,
            then those of each source in order, by the routes of that source.
        brought: every voice, group and snapshot of the sources that is in the result.
        slips: the names in the sources that stand for nothing, each counted as lost.
        unlayered: the voices that stay behind because no layer is free.
        offers: ways to place what found no knob or to ease what was joined, what wins most first.
        played: the snapshots that were grown or added.
        gave_way: the snapshots that are not added so that whole sources find a knob; None: none.
        crowded: the label of a source, and the name here, of each snapshot of its own that gave
            way so that less is left out.
        room: the knobs of the base that do nothing.
        overruled: the stored positions that gave way to those of what is more important.
        left: all else that is not as it was in its setup, and why.
        wanted: all that was asked for.
    """

    question: ClassVar[str] = "combination"

    base: str
    request: Request = attrs.field(repr=False)
    allocation: Allocation
    setup: Setup = attrs.field(repr=False)
    carried: tuple[Carried, ...] = attrs.field(repr=counted)
    brought: tuple[Brought, ...] = attrs.field(repr=counted)
    slips: tuple[Slip, ...] = attrs.field(repr=counted)
    unlayered: tuple[Unlayered, ...] = attrs.field(repr=counted)
    offers: tuple[Offer, ...] = attrs.field(repr=counted)
    played: tuple[Played, ...] = attrs.field(repr=counted)
    gave_way: GaveWay | None
    crowded: tuple[tuple[str, str], ...] = attrs.field(repr=counted)
    room: tuple[IdleKnob, ...] = attrs.field(repr=counted)
    overruled: tuple[Overruled, ...] = attrs.field(repr=counted)
    left: tuple[NotAsItWas, ...] = attrs.field(repr=counted)
    wanted: Wanted = attrs.field(repr=False)

    @property
    def following(self) -> tuple[Following, ...]:
        """For each snapshot of the result the knobs that follow; what came to nothing is not there.

        Where it stores none, for those that were assumed.
        """
        return following_in(self.setup) or self.allocation.following

    @property
    def without_knob(self) -> tuple[str, ...]:
        """What found no knob, by its full names now."""
        return tuple(each.full_name for each in self.carried if each.new_knob is None)

    @property
    def proven(self) -> bool:
        """Whether it is proven that no layout of what is wanted is better."""
        return self.allocation.proven

    @property
    def stopped(self) -> Stopped | None:
        """What cut the search short."""
        return self.allocation.stopped

    @property
    def missed(self) -> tuple[MissedTravel, ...]:
        """The travels that are wanted and that their knob has not."""
        return self.allocation.missed

    @property
    def alarming(self) -> tuple[MissedTravel, ...]:
        """Those of them that a player must know before the first note, such as turned round."""
        return self.allocation.alarming

    @property
    def essential_out(self) -> tuple[str, ...]:
        """What is essential and left out, be it by a slip."""
        inner = self.request.by_full_name
        found = [name for name in self.without_knob if inner[name].priority == ESSENTIAL]
        lost = [name for each in self.unlayered for name in each.essential]
        lost += [name for each in self.slips for name in each.essential]
        return tuple(dict.fromkeys((*found, *lost)))

    @property
    def idle(self) -> tuple[str, ...]:
        """What came with its voice though no knob of its source did anything to it."""
        new = {each.new for each in self.brought if each.kind == "voice"}
        sought = {each.full_name for each in self.carried}.union(self.wanted.leave)
        inner = (n for v in self.setup.voices if v.name in new for n in v.by_full_name)
        return tuple(name for name in inner if name not in sought)

    @property
    def gone(self) -> tuple[NotAsItWas, ...]:
        """The snapshots that do not come, or are not added, each with why."""
        there = {(each.source, each.old) for each in self.brought if each.kind == "snapshot"}
        found = {
            (each.setup, each.name): each
            for each in self.left
            if each.kind == "snapshot" and (each.setup, each.name) not in there
        }
        return tuple(found.values())

    @property
    def came(self) -> tuple[int, int]:
        """How many of what was to come are on a knob, and how many were to or were left out.

        What a dead knob of a source drove was to come on none: nothing that worked is lost with it,
        and ``idle`` tells of it.
        """
        new = [each for each in self.carried if each.source != self.base]
        placed = sum(1 for each in new if each.new_knob)
        behind = sum(max(1, len(each.destinations)) for each in self.unlayered)
        return placed, len(new) + len(self.slips) + behind + len(self.wanted.leave)

    @property
    def headlines(self) -> tuple[str, ...]:
        """What is told first: what is lost or alarming, what was joined, how good the rest is."""
        return tuple(map(sentence, self._first()))

    @property
    def sentences(self) -> tuple[str, ...]:
        """What is lost, what was parted or joined, what could be done; then where all went."""
        found = [*self.headlines]
        found += [str(each) for each in self.allocation.joined if each.asked]
        found += [self._line(each) for each in self.carried]
        found += [f"{each}." for each in self.brought]
        found += [f"Left: {each}." for each in self.left if each not in self.gone]
        return tuple(found)

    def _first(self) -> Iterator[str]:
        yield from essential_told(self.essential_out)
        dead, idle = self._undriven
        yield from undriven_told(dead, ())
        yield from (f"{told}." for told in missed_told(e for e in self.missed if e.told_first))
        yield from sounding_told(self.wanted.base, self.setup)
        yield from (f"{self.gave_way}." for _ in range(self.gave_way is not None))
        placed, asked = self.came
        lost = [str(each) for each in self.slips]
        lost += [f"there is no layer for {each.voice} of {each.source}" for each in self.unlayered]
        if self.without_knob:
            finds = "finds" if len(self.without_knob) == 1 else "find"
            lost.append(f"{listed(self.without_knob)} {finds} no knob")
        if not asked:
            yield "Nothing was to come."
            yield from undriven_told((), idle)
            return
        yield f"{'; '.join([f'{placed:,} of {asked:,} came', *lost])}."
        if self.unlayered:
            layers = many(self.setup.surface.layers or 0, "layer")
            yield f"Of {layers} none is left: bring fewer voices, or take one away first."
        if self.wanted.leave:
            yield f"Left out, as asked: {listed(self.wanted.leave)}."
        if self.idle:
            yield f"{listed(self.idle)}: {NONE_SOUGHT}."
        yield from undriven_told((), idle)
        joined = (each for each in self.allocation.joined if not each.asked)
        yield from map(str, (*joined, *self.allocation.parted))
        stored = {each.name for each in self.setup.snapshots}
        for each in self.allocation.prices.breaks:
            if each.snapshot in stored:
                yield f"Snapshot '{each.snapshot}' may be broken, and is: {each}."
        yield from self._beside_the_base()
        yield from (f"Wrong, as in {self.base}: {each}." for each in torn_told(self.setup))
        yield from (f"{told}." for told in missed_told(e for e in self.missed if not e.told_first))
        yield from overruled_told(self.overruled)
        yield from self._how_good(bool(lost))
        yield from regained_told(self.alarming, self.setup)
        yield from (
            f"Offer {place}, {each.what}: {each}." for place, each in enumerate(self.offers, 1)
        )
        yield from (f"{each}." for each in self.played)
        for one in self.brought:
            if one.kind == "snapshot" and one.old != one.new:
                yield f"Snapshot '{one.old}' of {one.source} is called '{one.new}' here."
        yield from self._assumed_layers()
        yield from self._gone_told()
        yield from (f"{each}." for each in self.room)

    def _gone_told(self) -> Iterator[str]:
        """Which snapshots do not come, but for those of which it is told before what they cost."""
        gone = (e for e in self.gone if self.gave_way is None or not e.why.startswith(NOT_ALONE))
        by_why = (((e.setup, e.why, e.name * (e.why != CROWDED_OUT)), e) for e in gone)
        for first, *more in grouped(by_why).values():
            too = f"; nor {'does' if len(more) == 1 else 'do'} {quoted(e.name for e in more)}"
            yield f"{first}{too if more else ''}."

    def _assumed_layers(self) -> Iterator[str]:
        """Which layers are left free for voices of the base that have none."""
        without = {voice.name for voice in self.wanted.base.voices if voice.layer is None}
        free = [each for each in self.allocation.layers if each.voice in without]
        if free:
            voices, layers = listed([e.voice for e in free]), listed([str(e.new) for e in free])
            if len(free) == 1:
                yield f"{voices} has no layer: {layers} is left free for it."
            else:
                yield f"{voices} have no layers: {layers} are left free for them."

    @property
    def _undriven(self) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """What else no knob of the result drives, the essential and the rest: the base's mostly."""
        essential, rest = undriven_in(self.setup)
        told = {*self.without_knob, *self.idle, *self.wanted.leave}
        return (
            tuple(name for name in essential if name not in self.essential_out),
            tuple(name for name in rest if name not in told),
        )

    def _how_good(self, lacking: bool) -> Iterator[str]:
        if any(omission_price(self.request, name) for name in self.without_knob):
            yield f"{self._why_out}."
        if not self.allocation.proven:
            yield f"Not proven best{f', {ended(self.stopped)}' if self.stopped else ''}."
        elif not lacking:
            yield "Proven best."
        elif self.came[0]:
            yield "Proven: what came cannot be laid out better."

    def _beside_the_base(self) -> Iterator[str]:
        """The knobs of the base that drive something of the sources as well."""
        looked_for = {each.full_name for each in self.carried}
        told: dict[str, tuple[list[str], list[str]]] = {}
        for each in self.carried:
            kept = [name for name in each.beside if name not in looked_for]
            if each.new_knob is not None and kept:
                told.setdefault(each.new_knob, ([], kept))[0].append(each.full_name)
        for knob, (names, kept) in told.items():
            told_of = f"{knob_told(knob)} of the base drives {listed(names)} too"
            yield f"{told_of}, beside {listed(kept)}: they can no longer be moved apart."

    def _line(self, each: Carried) -> str:
        told = f"{each.source}, {each.was}: {each.voice}/{each.destination}"
        if each.new_knob is None or each.new_travel is None:
            return f"{told} finds no knob."
        top = self.setup.surface.top
        stays = (each.source, each.was) == (self.base, each.now)
        told += " stays there" if stays else f" is now on {each.now}"
        told += f", {travel_text(each.new_travel, top)}"
        if each.new_travel != each.wanted:
            told += f", instead of {travel_text(each.wanted, top)}"
        return f"{told}." if not each.beside else f"{told}, shared with {', '.join(each.beside)}."

    @property
    def _why_out(self) -> str:
        if self.allocation.tiers[0].proven:
            return "No layout that meets every demand leaves out less"
        return "No layout was found that meets every demand and leaves out less"
