"""The knob budget as an answer: what each number of knobs costs, and how that is said."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar

import attrs

from knobpack.definition.phrases import TIER_WORDS, first_of, points_changed, points_in
from knobpack.errors import Stopped
from knobpack.explanation.budget_entry import Entry
from knobpack.explanation.free_knob import MOST_OFFERS, KnobOffer
from knobpack.reasons.answer_graph import Answer
from knobpack.text.shown import Fielded
from knobpack.words.names import knobs_told, listed


@attrs.frozen
class MoreKnobs(Entry):
    """The whole surface with one knob more.

    Args:
        values: the tiers from the first, in points; None: not known.
        bounds: for each tier, what no layout as good in the tiers before goes below.
        proven: whether the values are proven least.
        change: how much more that is than now, tier by tier; below 0: how much less.
        order: the names of those tiers, the most important first.
        takers: positions of the families of which any single one, taking the knob with all else
            left as it is, brings the surface to these values. None where it would save
            nothing, or only once more than one family changes.
    """

    takers: tuple[int, ...] = ()


@attrs.frozen
class FewerKnobs(Entry):
    """The whole surface with one knob fewer.

    Args:
        values: the tiers from the first, in points; None: not known.
        bounds: for each tier, what no layout as good in the tiers before goes below.
        proven: whether the values are proven least.
        change: how much more that is than now, tier by tier; below 0: how much less.
        order: the names of those tiers, the most important first.
        givers: positions of the families of which any single one, giving a knob up with all else
            left as it is, brings the surface to these values.
    """

    givers: tuple[int, ...] = ()


@attrs.frozen
class FamilyBudget(Fielded):
    """What one family costs with a knob fewer, as given, and one more, the rest left as it is.

    In a setup in use what moves counts by whole knobs, and so for all families at once: there each
    entry is what the whole surface comes to, all that is not of the family held where it is.

    Args:
        name: what it is called in sentences.
        destinations: full names, in the order of the request.
        knobs: the knobs they are on.
        fewer: without one of its knobs, the best choice of it; None: that is not possible.
        now: on its knobs.
        more: with one knob more, that nothing is said of.
    """

    name: str
    destinations: tuple[str, ...]
    knobs: tuple[str, ...]
    fewer: Entry | None
    now: Entry
    more: Entry

    def __str__(self) -> str:
        where = f"on {knobs_told(self.knobs)}" if self.knobs else "on no knob"
        told = [f"one knob more {_saves(self.now, self.more)}"]
        if self.fewer is not None and _is_better(self.fewer):
            told.append(f"even one fewer {_saves(self.now, self.fewer)}")
        elif self.fewer is not None:
            costs = _costs(self.now, self.fewer)
            lost = f"leaves out {listed(self.out)}: {costs}" if self.out else f"costs {costs}"
            told.append(f"one fewer {lost}")
        elif self.knobs:
            told.append("as asked, it can give none up")
        return f"{self.name}, {where}: {'; '.join(told)}."

    @property
    def out(self) -> tuple[str, ...]:
        """What a knob fewer leaves out, as far as it is known: all, of its only knob."""
        change = self.fewer.change if self.fewer is not None else None
        whole = len(self.knobs) == 1 and self.now.values is not None and not self.now.values[0]
        return self.destinations if whole and change and change[0] > 0 else ()

    @property
    def bound(self) -> bool:
        """Whether it has knobs, can give none of them up, and would take no other."""
        return bool(self.knobs) and self.fewer is None and _saves(self.now, self.more) == _NOTHING


@attrs.frozen
class Budget(Answer):
    """The knob budget of an allocation.

    Args:
        families: every family. Destinations that may be on no knob are families of their own.
        between_families: what the layout pays because preferred rules span families, in points of
            the tier *sharing*. It is part of the surface and of no family.
        bundles_between_families: the same for bundles, in points of the tier *bundles*.
        now: the whole surface as it is.
        more: with one knob more, that nothing is said of.
        fewer: with one knob fewer, of those that nothing is kept or fixed on and that are not
            reserved, the best choice of it; None: there is none to give up.
        unused: such knobs that carry nothing: giving them up costs nothing in these tiers.
        offers: what the first of them could be used for, that which saves the most first.
        solved_again: how many requests were solved to tell this.
        stopped: what cut that short, as far as it is not proven; None: nothing did.
    """

    question: ClassVar[str] = "knob budget"

    families: tuple[FamilyBudget, ...]
    between_families: int
    bundles_between_families: int
    now: Entry
    more: MoreKnobs
    fewer: FewerKnobs | None
    unused: tuple[str, ...]
    offers: tuple[KnobOffer, ...]
    solved_again: int
    stopped: Stopped | None = None

    @property
    def proven(self) -> bool:
        """Whether every entry is proven."""
        of_families = [[each.fewer, each.now, each.more] for each in self.families]
        entries = sum(of_families, [self.now, self.more, self.fewer])
        return all(each.proven for each in entries if each is not None)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The surface first, then the families, those first that a knob more is worth most to."""
        told = [self._told_more, self._told_fewer, *self._told_own]
        offers = [f"{offer}." for offer in self.offers]
        told += first_of(offers, "more such offer", ", no better", MOST_OFFERS)
        ranked = sorted(self.families, key=lambda each: each.more.rank)
        bound = [each for each in ranked if each.bound]
        told += [str(each) for each in ranked if len(bound) < 2 or not each.bound]
        if len(bound) > 1:
            names = listed([f"{each.name} on {knobs_told(each.knobs)}" for each in bound])
            why = f"{_NOTHING} for any of these; as asked, they give none up"
            told.append(f"One knob more {why}: {names}.")
        for what, paid, tier in (
            ("Bundles", self.bundles_between_families, "bundles"),
            ("Rules", self.between_families, "sharing"),
        ):
            if paid:
                told.append(f"{what} that span families cost {points_in(paid, tier)} besides.")
        return tuple(told)

    @property
    def _told_more(self) -> str:
        told = f"One more knob {_saves(self.now, self.more)}"
        takers = [self.families[at].name for at in self.more.takers]
        if takers:
            return f"{told}; it would go to {_one_of(takers)}."
        anew = any(self.more.change or ())
        return f"{told}, once the knobs are divided anew." if anew else f"{told}."

    @property
    def _told_fewer(self) -> str:
        if self.unused:
            carry = "carries" if len(self.unused) == 1 else "carry"
            return f"Giving one knob up costs nothing: {knobs_told(self.unused)} {carry} nothing."
        if self.fewer is None:
            return "No knob can be given up, all else as it is asked."
        told = "Giving one knob up costs"
        givers = [self.families[at].name for at in self.fewer.givers]
        if _is_better(self.fewer):
            taken = f"if taken from {_one_of(givers)}"
            how = taken if givers else "once the knobs are divided anew"
            return f"Even one knob fewer {_saves(self.now, self.fewer)}, {how}."
        if givers:
            out = self.families[self.fewer.givers[0]].out if len(givers) == 1 else ()
            lost = f" {listed(out)} left out," if out else ""
            costs = _costs(self.now, self.fewer)
            return f"{told} least if taken from {_one_of(givers)}:{lost} {costs}."
        anew = ", once the knobs are divided anew" if any(self.fewer.change or ()) else ""
        return f"{told} {_costs(self.now, self.fewer)}{anew}."

    @property
    def _told_own(self) -> Iterable[str]:
        """What one knob more saves by itself, where part of its saving is had even on one fewer."""
        more, fewer = self.more.change, self.fewer
        if not more or not fewer or not fewer.change or not _is_better(fewer):
            return
        # The best on the knobs that there are lies between the two.
        changes = zip(fewer.order, fewer.change, more, strict=False)
        apart = ((less - gain, tier) for tier, less, gain in changes if less != gain)
        amount, tier = next(apart, (0, ""))
        own = f"at most {points_in(amount, tier)}" if amount > 0 else "nothing"
        yield f"What one knob more saves by itself is {own}."


_NOTHING = "would save nothing"


def _is_better(entry: Entry) -> bool:
    """Whether an entry is better than what is now, which was then not the best."""
    return next((each for each in entry.change or () if each), 0) < 0


def _saves(now: Entry, more: Entry) -> str:
    """What one knob more does, after its subject."""
    saved, lost = _amounts(more, -1), _amounts(more, 1)
    nothing = _NOTHING if more.proven else "is not known to save anything"
    told = f"would save {listed(saved)}" if saved else nothing
    if lost:
        told += f", at {listed(lost)} more"
    return told + _doubt(now, more)


def _costs(now: Entry, fewer: Entry) -> str:
    """What one knob fewer costs."""
    if fewer.change is None:
        return "what is not known: the search was stopped"
    told = listed(_differences(fewer)) or "nothing"
    return f"{told}{_doubt(now, fewer)}"


def _one_of(names: Sequence[str]) -> str:
    return ", or just as well ".join(names)


def _amounts(entry: Entry, sign: int) -> list[str]:
    """What is more (1) or less (-1) in each tier, without saying which of the two."""
    return [
        points_in(amount, tier)
        for tier, amount in zip(entry.order, entry.change or (), strict=False)
        if amount * sign > 0
    ]


def _differences(entry: Entry) -> list[str]:
    return [
        points_changed(amount, tier)
        for tier, amount in zip(entry.order, entry.change or (), strict=False)
        if amount
    ]


def _doubt(now: Entry, then: Entry) -> str:
    """What is not proven, with the bounds that tell something."""
    gaps = [
        (when, entry, gap)
        for when, entry in (("as it is", now), ("then", then))
        if not entry.proven and (gap := _gap(entry)) is not None
    ]
    told = [
        f"{when}, '{TIER_WORDS[entry.order[gap]]}' is at least {entry.bounds[gap]:,}"
        for when, entry, gap in gaps
        if entry.bounds[gap]
    ]
    bounds = f": {'; '.join(told)}" if told else ""
    return f" (not proven{bounds})" if gaps else ""


def _gap(entry: Entry) -> int | None:
    """The first tier that is not proven."""
    values: Iterable[int | None] = entry.values or [None] * len(entry.bounds)
    pairs = zip(values, entry.bounds, strict=True)
    return next((at for at, (value, bound) in enumerate(pairs) if value != bound), None)
