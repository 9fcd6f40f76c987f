"""Answer: what an edit of a setup gives back."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import ClassVar

import attrs

from knobpack.allocation import Allocation
from knobpack.auditing.audit import slips_told, torn_told
from knobpack.definition.importance_prices import omission_price
from knobpack.definition.phrases import (
    ESSENTIAL,
    PRIORITIES,
    TIER_WORDS,
    essential_told,
    many,
)
from knobpack.edits.panels import called_told
from knobpack.edits.why_moved import changing_places, in_the_way, parted_told
from knobpack.errors import Stopped, ended
from knobpack.explanation.not_there import NotThere
from knobpack.explanation.what_if import Moved, goes_told
from knobpack.grouped import grouped
from knobpack.questions import AskedElsewhere
from knobpack.reasons.facts import ON, Obstacle
from knobpack.setups.as_read import lies_within, read
from knobpack.setups.missed_travels import MissedTravel, changed_travels, missed_told
from knobpack.setups.sounding import sounding_told
from knobpack.setups.undriven import missed_of, undriven_told
from knobpack.setups.wished_travels import regained_told, unwanted_told
from knobpack.sheets import PatchSheet, patch_sheet
from knobpack.text.columns import sentence
from knobpack.text.shown import Told, counted, html_list, html_table
from knobpack.words import Rule, Setup
from knobpack.words.loudness import is_level
from knobpack.words.names import knob_told, knobs_told, listed


@attrs.frozen
class Edited(Told, AskedElsewhere):
    """A setup with one thing otherwise, and the least that moved because of it.

    Args:
        done: what was asked, in words.
        before: the setup as it was; of a move to another panel, nothing but the panel.
        setup: the setup as it is now.
        allocation: the layout, with the value, bound and proof of each tier.
        moved: what is on another knob than before, or on none, in the order of the setup.
        reasons: for each of them that was not asked for by name, why it is not where it was.
        replaced: what earlier edits asked for and this one overrides.
        notes: what else is to be known, in sentences.
        gave_way: what earlier edits asked for and gave way, as something would be left out else.
        whole: what stays together though more moves for it, as one knob of its source drove it.
        certain: whether all that led to the layout is proven too: what had to give way, and what
            was done again when an edit was taken back.
        still: how it is said that nothing is on another knob.
        instead: where an edit leaves out what is essential, what could be done in its place.
        avoided: how what it made alarming could be avoided, and what that costs.
        home: of a move to another panel, each knob that drove something and has another name
            there: its name here and that at home.
    """

    question: ClassVar[str] = "edit"

    done: str
    before: Setup = attrs.field(repr=False)
    setup: Setup = attrs.field(repr=False)
    allocation: Allocation = attrs.field(repr=False)
    moved: tuple[Moved, ...] = attrs.field(repr=counted)
    reasons: tuple[NotThere, ...] = attrs.field(default=(), repr=counted)
    replaced: tuple[Rule, ...] = ()
    notes: tuple[str, ...] = ()
    gave_way: tuple[Rule, ...] = ()
    whole: tuple[tuple[str, ...], ...] = ()
    certain: bool = True
    still: str = "nothing moves"
    instead: tuple[str, ...] = ()
    avoided: tuple[str, ...] = ()
    home: tuple[tuple[str, str], ...] = ()

    @property
    def proven(self) -> bool:
        """Whether it is proven that no layout does it with less moved, or better."""
        return self.certain and self.allocation.proven

    @property
    def stopped(self) -> Stopped | None:
        """What cut the search short."""
        return self.allocation.stopped

    @property
    def stood(self) -> Setup:
        """Against what it is told what is set otherwise: the setup as it was.

        Of a move to another panel that as it would stand there, with what did not move.
        """
        previous = self.allocation.request.previous
        if self.before.voices or previous is None:
            return self.before
        moved = {each.destination for each in self.moved}
        stay = tuple(route for route in previous.routes if route.destination not in moved)
        return attrs.evolve(self.setup, routes=stay, travels=previous.travels)

    @property
    def sheet(self) -> PatchSheet:
        """What to program, step by step, to turn the setup as it was into this one."""
        return attrs.evolve(patch_sheet(self.before, self.setup), title=self.title)

    @property
    def title(self) -> str:
        """The setup and what was done to it, as its sheet is called."""
        name = self.setup.name
        return self.done if self.done.startswith(name) else f"{name}: {self.done}"

    @property
    def left_out(self) -> tuple[str, ...]:
        """What no knob drives now, though one did or the edit asked for it: full names."""
        return self.allocation.unplaced

    @property
    def essential_out(self) -> tuple[str, ...]:
        """What is essential (priority 1) and driven by no knob then, be it since before the edit.

        What was put away on purpose is not missed.
        """
        return tuple(dict.fromkeys((*self.allocation.essential_out, *missed_of(self.setup))))

    @property
    def sentences(self) -> tuple[str, ...]:
        """What is left out or gave way, what was done, whether it is proven, what moved and why."""
        return (*self.headlines, *self._told())

    @property
    def headlines(self) -> tuple[str, ...]:
        """What is told first: what is left out or alarming, what was done, what that costs."""
        return tuple(map(sentence, self._first()))

    def _first(self) -> Iterator[str]:
        destinations = read(self.setup).destinations
        lost = self.allocation.essential_out
        yield from essential_told(lost)
        yield from self.instead
        for name in self.left_out:
            if name not in lost:
                yield f"{name} ({PRIORITIES[destinations[name].priority - 1]}) is left out."
        for rule in self.gave_way:
            told = f"{rule.phrase}, which an earlier edit asked for, gives way"
            yield f"{told}: more would be left out else."
        alarms = grouped((is_level(each.kind), each) for each in self.alarming if self._bad(each))
        yield from (f"{told}." for told in missed_told(alarms.get(True, ())))
        shared = {each.after for each in self.moved}
        yield from regained_told((m for m in self.alarming if m.knob in shared), self.setup)
        yield from sounding_told(self.before, self.setup)
        moves = [*self._moves()]
        yield from (told for first, told in moves if first)
        yield from (f"{told}." for told in missed_told(alarms.get(False, ())))
        yield f"{self.done}: {self._much}{self._proof}."
        yield from self.avoided
        yield from parted_told(self.before, self.setup)
        yield from self._joined
        if self.before.voices:
            yield from (f"Wrong: {each}." for each in torn_told(self.setup, self.before))
        yield from (f"{told}." for told in missed_told(self._less_than_wanted))
        # What the edit did comes first; what was so before it is not forgotten.
        yield from undriven_told([name for name in self.essential_out if name not in lost], ())

    def _moves(self) -> Iterator[tuple[bool, str]]:
        """What goes where, and whether it is essential and left a place that no one asked it to."""
        reasons = {each.destination: each for each in self.reasons}
        inner = read(self.setup).destinations

        def first(those: Iterable[Moved]) -> bool:
            asked = (m.destination for m in those if m.destination in reasons)
            return any(inner[name].priority == ESSENTIAL for name in asked)

        told_of: set[str] = set()
        if reasons and self.before.voices:
            for went, came in changing_places(self.moved, read(self.setup).carries):
                yield first((*went, *came)), self._change_places(went, came, reasons)
                told_of.update(each.destination for each in (*went, *came))
        left = [each for each in self.moved if each.destination not in told_of]
        for way, those in grouped(((self._at_home(m).before, m.after), m) for m in left).items():
            yield from ((first(those), told) for told in self._went(way, those, reasons))

    def _told(self) -> Iterator[str]:
        yield from (told for first, told in self._moves() if not first)
        every = changed_travels(self.before, self.setup)
        told = {each.destination for each in self.alarming if self._bad(each)}
        late = {each.destination for each in self.alarming} - told
        told |= {each.destination for each in self.missed}
        told |= {each.destination for each in self.moved}
        rest = (m for m in every if m.destination in late or m.destination not in told)
        yield from (f"{told}." for told in missed_told(rest))
        yield from unwanted_told(self.before, self.setup)
        for rule in self.replaced:
            yield f"This overrides what an earlier edit asked for: {rule.phrase}."
        yield from called_told(self.home)
        yield from self.notes
        yield from slips_told(self.setup)

    @property
    def _joined(self) -> Iterator[str]:
        """What was on different knobs and is on one now."""
        previous = self.allocation.request.previous
        was = {r.destination: r.knob for r in previous.routes} if previous is not None else {}
        moved = {each.destination for each in self.moved}
        # Of a move, what stays is where it is; what goes comes from a knob of the other panel.
        was |= {each.destination: each.before for each in self.moved if each.before is not None}
        for knob, names in read(self.setup).carries.items():
            known = [name for name in names if name in was]
            knobs = list(dict.fromkeys(was[name] for name in known))
            at_home = [dict(self.home).get(each, each) for each in knobs]
            if len(knobs) < 2 or moved.isdisjoint(known):
                continue
            who = "they" if len(knobs) == len(known) else "what was on different knobs"
            told = (
                f"{knob_told(knob)} now drives {listed(known)}, which were on {knobs_told(at_home)}"
            )
            yield f"{told}: {who} can no longer be moved apart."

    @property
    def missed(self) -> tuple[MissedTravel, ...]:
        """The travels that are wanted, or were had, and that their knob has not, since the edit."""
        missed = self.allocation.missed
        inner, top = read(self.setup).destinations, self.setup.surface.top
        wishes = {each: inner[each.destination].travel or each.wanted for each in missed}
        own = (
            attrs.evolve(each, wanted=wish, had=False)
            if wish != each.wanted and lies_within(wish, top)
            else each
            for each, wish in wishes.items()
        )
        return tuple(each for each in own if each.wanted != each.given)

    @property
    def alarming(self) -> tuple[MissedTravel, ...]:
        """What must be known before the first note of travels that are otherwise since the edit.

        Unlike before first, then unlike what is wanted.
        """
        every = changed_travels(self.before, self.setup)
        changed = {each.destination: each for each in every if each.told_first}
        was = read(self.before)
        old = {route.destination: was.led(route) for route in was.routes}
        missed = (m for m in self.missed if old.get(m.destination) != m.given)
        more = (m for m in missed if m.told_first and m.destination not in changed)
        return (*changed.values(), *more)

    def _bad(self, alarming: MissedTravel) -> bool:
        """Whether it is told first: a level, or what does not go as it wants."""
        return is_level(alarming.kind) or not alarming.right

    @property
    def _less_than_wanted(self) -> tuple[MissedTravel, ...]:
        """The travels that are missed, but for what is alarming."""
        alarming = {each.destination for each in self.alarming}
        return tuple(each for each in self.missed if each.destination not in alarming)

    def _at_home(self, moved: Moved) -> Moved:
        """What moved, from the knob that it was on at home, which may have another name here."""
        here = moved.before
        at_home = dict(self.home).get(here or "")
        if at_home is None:
            return moved
        return attrs.evolve(moved, before=f"{knob_told(at_home)} (here {knob_told(here or '')})")

    @property
    def _much(self) -> str:
        if not self.moved:
            return self.still
        knobs = dict.fromkeys(each.before for each in self.moved if each.before is not None)
        told = many(len(self.moved), "route")
        verb = "moves" if len(self.moved) == 1 else "move"
        # Of a move, knobs of two panels in a row would be told as if they were of one.
        here = set(self.setup.surface.knob_names).intersection(knobs)
        mixed = 0 < len(here) < len(knobs)
        return f"{told} {verb}" + (f", from {knobs_told(knobs)}" if knobs and not mixed else "")

    @property
    def _proof(self) -> str:
        if self.proven:
            less = "less will not do" + (", bundles kept whole" if self.whole else "")
            # Points are proven: more routes that matter less can move in place of fewer.
            less += ", weighed by importance" if self.moved[1:] else ""
            return f"; proven: {less}" if self.moved else ""
        why = f" ({ended(self.stopped)})" if self.stopped else ""
        return f"; not proven the least{why}"

    def _change_places(
        self, went: Sequence[Moved], came: Sequence[Moved], reasons: Mapping[str, NotThere]
    ) -> str:
        """What two knobs drive the one in place of the other, and why what was not named does."""
        both = [each for each in (*went, *came) if each.destination in reasons]
        # That the one is in the way of the other there now is no reason why they changed places.
        first = [m for m in both if reasons[m.destination].lasting]
        first += [m for m in both if reasons[m.destination].allowed]
        why = self._why(first[0], reasons[first[0].destination]) if first else ""
        here, there = (listed([each.destination for each in those]) for those in (went, came))
        one, other = (knob_told(str(each)) for each in (went[0].before, went[0].after))
        return f"{here} (on {other} now) and {there} (on {one} now) change places{why}."

    def _went(
        self,
        way: tuple[str | None, str | None],
        those: Sequence[Moved],
        reasons: Mapping[str, NotThere],
    ) -> Iterator[str]:
        """What goes from one knob to one, those together of which the same is said."""
        why = {
            each.destination: self._why(each, reasons[each.destination])
            for each in those
            if each.destination in reasons
        }
        names = [each.destination for each in those]
        # What goes along with what the edit names is told from it.
        beside = () if {*names} & {*self.allocation.request.edited} else names
        told = {n: why[n] if n in why else self._along(n, beside) for n in names}
        said = [each for each in dict.fromkeys(told.values()) if each]
        if len(said) == 1:  # the others of it say nothing of their own
            told = dict.fromkeys(names, said[0])
        for last, own in grouped((told[name], name) for name in names).items():
            yield f"{goes_told(own, *way, len(own))}{last}."

    def _along(self, name: str, beside: Collection[str]) -> str:
        """With what something goes that the edit does not name, but for what is said to go too."""
        named = self.allocation.request.edited
        others = {n for names in self.whole if name in names and name not in named for n in names}
        others -= {name, *beside}
        told = listed([n for n in self.allocation.request.by_full_name if n in others])
        return f", as it stays with {told}" if told else ""

    def _why(self, moved: Moved, why: NotThere) -> str:
        if moved.before in read(self.setup).broken:
            return f", because {knob_told(moved.before)} is broken"
        asked, out = self.allocation.request, moved.after is None
        if out and omission_price(asked, moved.destination) and self.allocation.tiers[0].proven:
            return ": no layout that meets every demand leaves out less"
        if why.obstacles and not self._circular(why.obstacles[0]):
            rules = {str(rule): rule for rule in asked.rules}
            return f", because {in_the_way(why.obstacles[0], moved.destination, rules)}"
        if why.comparison is not None and why.comparison.tier and why.comparison.amount > 0:
            worse = TIER_WORDS[why.comparison.tier]
            return f"; left on {moved.before} it would be worse in '{worse}'"
        return ""

    def _circular(self, obstacle: Obstacle) -> bool:
        """Whether something is in the way that came there by the same edit, though not named."""
        there = {n for fact in obstacle.facts if fact.kind == ON for n in fact.destinations}
        came = {each.destination for each in self.moved} - {*self.allocation.request.edited}
        return bool(there) and there <= came

    @property
    def _parts(self) -> Sequence[str]:
        rows = tuple((m.destination, m.before or "none", m.after or "none") for m in self.moved)
        shown = [html_table("Moved", ("destination", "was on", "is on"), rows)] if rows else []
        return (html_list(self.sentences), *shown)
