"""An edit solved, what earlier edits asked for giving way where it must."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence

import attrs

from knobpack.allocation import Allocation
from knobpack.checked_search import allocate_during
from knobpack.clash import ImpossibleDemands
from knobpack.combination.held_routes import meets
from knobpack.edits.answer import Edited
from knobpack.edits.made import Made, goes_of, routed
from knobpack.edits.request import SetupInUse, in_request, request_in_use
from knobpack.edits.torn import Way, follows_alike, others_moved, taken_as_one, ways_as_one
from knobpack.errors import NoLayoutFound
from knobpack.explanation.case import Case
from knobpack.explanation.not_there import NotThere, not_there
from knobpack.explanation.what_if import Moved
from knobpack.limits import Run
from knobpack.setups.as_read import Reading, read
from knobpack.setups.wished_travels import with_wishes
from knobpack.words import Apart, Barred, Layout, Rule, Setup, Together, Travel
from knobpack.words.demand import KEEP, RULE
from knobpack.words.fields import HIGHEST_WEIGHT
from knobpack.words.rules import member_lists, rule_knobs, rule_without

Agreed = tuple[Rule, ...]
"""Rules that earlier edits agreed on, the oldest first."""


@attrs.frozen
class Wish:
    """What an edit asks for.

    Args:
        asked: in words.
        rules: what is to hold from now on, by the full names of destinations.
        edited: what it is about: full names. Losses and breaks of these count, though they were
            there already.
        named: what it says itself where it is to be: nobody asks why that moved.
        rather: what stays together where nothing more moves for it: full names.
        bundles: what stays together where nothing more is lost or broken for it, be it that more
            moves: full names.
        previous: the layout to stay close to; None: the one of the setup.
        goes: over what each destination went; None: over what it does in the setup.
        must: whether all of both must be placed.
        still: how it is said that nothing is on another knob.
    """

    asked: str
    rules: tuple[Rule, ...] = ()
    edited: tuple[str, ...] = ()
    named: tuple[str, ...] = ()
    rather: tuple[tuple[str, ...], ...] = ()
    bundles: tuple[tuple[str, ...], ...] = ()
    previous: Layout | None = None
    goes: Mapping[str, Travel] | None = None
    must: bool = True
    still: str = "nothing moves"


def solved(
    before: Setup,
    setup: Setup,
    wish: Wish,
    run: Run,
    finish: Callable[[Made, Allocation], Made] | None = None,
    was: Mapping[str, Sequence[str]] | None = None,
) -> Edited:
    """Do an edit.

    Where what it asks for cannot be met beside what earlier edits asked for, the oldest of those
    that stand in the way give way; and so do those for whose sake something would be left out.

    Args:
        before: the setup as it was, which the patch sheet starts from.
        setup: the setup with all that needs no search done already.
        wish: what is asked for.
        run: what may cut it short.
        finish: what is still to be done once the routes are known.
        was: the knobs that each destination was on; None: those of the setup before.

    Raises:
        ImpossibleDemands: it cannot be met, whatever gives way.
        NoLayoutFound: the search was stopped before any layout was known.
    """
    agreed = left_standing(setup.agreed, wish.rules)
    use = SetupInUse.of(read(setup), _about(read(before), read(setup), wish.rules))
    asking, agreed, allocation = _Asking(use, wish, run, 1 / 2 if agreed else 1).beside(agreed)
    agreed, allocation, gave_way, certain = asking.least_lost(agreed, allocation)
    travels = {each.knob: each.travel for each in allocation.travels}
    made = routed(setup, allocation.routes, travels, asking.use.given)
    kept = tuple(dict.fromkeys((*agreed, *wish.rules)))
    went = goes_of(read(setup)) if wish.goes is None else wish.goes
    wishing = with_wishes(went, attrs.evolve(made.setup, agreed=kept))
    made = attrs.evolve(made, setup=wishing, gave_way=gave_way)
    if finish is not None:
        made = finish(made, allocation)
    moved = moves_between(read(before).knobs_of if was is None else was, made.setup)
    asked_for = set(allocation.request.rules)
    whole = tuple(names for names in wish.bundles if Together(names) in asked_for)
    out, standing = allocation.unplaced, set(made.setup.agreed)
    return Edited(
        done=wish.asked,
        before=before,
        setup=made.setup,
        allocation=allocation,
        moved=moved,
        reasons=_reasons(allocation, moved, wish),
        replaced=tuple(
            rule
            for rule in setup.agreed
            if rule not in gave_way
            and (rule not in standing or (rule not in wish.rules and _unmet(rule, out)))
        ),
        notes=made.told,
        gave_way=gave_way,
        certain=certain and asking.forced,
        whole=whole,
        still=wish.still,
    )


@attrs.frozen(eq=False)
class _Asking:
    """An edit to be solved beside more or fewer of the rules that earlier edits agreed on.

    Each time takes a part of what is left of the effort and time. It is ``forced`` where nothing
    but what has to leave a knob that takes nothing new was let go: else less might have done.
    """

    use: SetupInUse
    wish: Wish
    run: Run
    part: float
    forced: bool = True

    def beside(self, agreed: Agreed) -> tuple[_Asking, Agreed, Allocation]:
        """What can be met, and the layout.

        Of what is on a knob that takes nothing new and clashes with the edit, what matters least
        leaves it, first of what the edit names; then of rules that clash with it the oldest goes.

        Raises:
            ImpossibleDemands: it cannot be met, whatever gives way.
        """
        while True:
            try:
                return self, agreed, self.solved(agreed)
            except ImpossibleDemands as error:
                kept = [d.subject.destination for d in error.clash.demands if d.kind == KEEP]
                if kept:
                    return self.without(kept).beside(agreed)
                clash = {demand.subject for demand in error.clash.demands if demand.kind == RULE}
                held = self.held(agreed)
                old = next((rule for rule in agreed if held.get(rule) in clash), None)
                if old is None:
                    raise
                agreed = tuple(rule for rule in agreed if rule != old)

    def without(self, kept: Sequence[str]) -> _Asking:
        """The same, with one less of what is kept on a knob that takes nothing new."""
        named, rank = {*self.wish.edited, *self.wish.named}, self.use.reading.rank
        free = max(kept, key=lambda name: (name in named, rank[name]))
        bound = tuple(route for route in self.use.bound if route.destination != free)
        use, forced = attrs.evolve(self.use, bound=bound), self.forced and len(kept) == 1
        return attrs.evolve(self, use=use, forced=forced)

    def least_lost(
        self, agreed: Agreed, allocation: Allocation
    ) -> tuple[Agreed, Allocation, Agreed, bool]:
        """The rules without those for whose sake more would be left out than must, and the layout.

        The newer a rule, the rather it stays: each stays that can, beside the newer ones that do.

        Returns:
            The rules, the layout, those that gave way, and whether it is certain that they had to.
        """
        if not agreed or not allocation.tiers[0].value:
            return agreed, allocation, (), True
        try:
            free = self.solved(())
        except NoLayoutFound:
            return agreed, allocation, (), False
        least, certain = free.tiers[0].value, free.tiers[0].proven
        if least >= allocation.tiers[0].value:
            return agreed, allocation, (), True
        stay: Agreed = ()
        for rule in reversed(agreed):
            try:
                found = self.solved((rule, *stay))
            except ImpossibleDemands:
                continue
            except NoLayoutFound:
                certain = False
                continue
            if found.tiers[0].value <= least:
                stay, free = (rule, *stay), found
            certain = certain and found.tiers[0].proven
        return stay, free, tuple(rule for rule in agreed if rule not in stay), certain

    def solved(self, agreed: Agreed) -> Allocation:
        """The best layout beside these rules, bundles whole as far as nothing is lost for it."""
        found, whole = self._torn_as_one(agreed, self._beside(agreed)), tuple[Rule, ...]()
        for names in self.wish.bundles:
            both = (*whole, Together(names))
            try:
                parted = len({found.knob_of(name) for name in names}) > 1
                then = self._beside((*agreed, *both)) if parted else found
            except (ImpossibleDemands, NoLayoutFound):
                continue
            if _lost(then) <= _lost(found):
                found, whole = then, both
        return found

    def _torn_as_one(self, agreed: Agreed, best: Allocation) -> Allocation:
        """That layout, or one in which what is torn goes as one, if less else moves for it."""
        reading = self.use.reading
        for way in ways_as_one(reading) if others_moved(reading, best) else ():
            try:
                then = self._beside(agreed, way)
            except (ImpossibleDemands, NoLayoutFound):
                continue
            less = others_moved(reading, then) < others_moved(reading, best)
            no_worse = _lost(then) <= _lost(best) and follows_alike(reading, then)
            best = then if less and no_worse else best
        return best

    def _beside(self, agreed: Agreed, way: Way | None = None) -> Allocation:
        wish = self.wish
        rules = self.held((*agreed, *wish.rules, *_rather(self.use, wish))).values()
        must = (*wish.edited, *wish.named) if wish.must else ()
        asked = (self.use, tuple(rules), wish.edited)
        request = request_in_use(*asked, must=must, previous=wish.previous)
        with self.run.share(self.part) as own:
            return allocate_during(taken_as_one(request, way) if way else request, own)

    def held(self, rules: Sequence[Rule]) -> dict[Rule, Rule]:
        """For each rule, as much of it as the request can hold."""
        asked = self.use.asked(self.wish.edited, self.wish.previous or self.use.layout)
        knobs, broken = self.use.surface.knob_names, self.use.reading.broken
        found = {rule: in_request(rule, asked, knobs, broken) for rule in rules}
        return {rule: held for rule, held in found.items() if held is not None}


def _about(before: Reading, reading: Reading, rules: Iterable[Rule]) -> set[str]:
    """What is to be laid out anew even where a fault drives it: full names.

    What stands elsewhere than before; what a rule names that is not met, and what is on its knob.
    """
    was, now = before.knobs_of, reading.knobs_of
    about = {name for name, at in now.items() if not set(at) <= set(was.get(name, ()))}
    for rule in rules:
        effect = rule.effect(tuple, tuple(reading.carries))
        if not meets(reading, rule) or _unmet(rule, [name for name in now if not now[name]]):
            named = (name for names in member_lists(rule).values() for name in names)
            about |= {*named, *reading.carries.get(effect.on or "", ())}
    return about


def _lost(allocation: Allocation) -> tuple[int, ...]:
    """What is left out, and what snapshots break."""
    return tuple(t.value for t in allocation.tiers if t.name in {"unplaced", "independence"})


def _rather(use: SetupInUse, wish: Wish) -> list[Rule]:
    """What is better where nothing more moves for it.

    What an edit parts from other things stays together; and of layouts that are equally good, those
    in which what is named leaves what it shares a knob with.
    """
    knob_of = {route.destination: route.knob for route in use.routes}
    sharing = {r.knob for r in use.routes if r.destination not in wish.edited}
    leaving = [name for name in wish.edited if knob_of.get(name) in sharing]
    barred: list[Rule] = [Barred((n,), (knob_of[n],), HIGHEST_WEIGHT) for n in leaving]
    return [*barred, *(Together(names, HIGHEST_WEIGHT) for names in wish.rather)]


def _unmet(rule: Rule, left_out: Collection[str]) -> bool:
    """Whether a rule asked for a place for something that has none now."""
    effect = rule.effect(tuple, ())
    return not set(left_out).isdisjoint((*effect.demanded, *effect.alone))


def moves_between(was: Mapping[str, Sequence[str]], after: Setup) -> tuple[Moved, ...]:
    """What is on other knobs than before, or on none, or new; of several the first that differs."""
    now, found = read(after).knobs_of, []
    for name in (*now, *sorted({*was} - {*now})):
        old, new = was.get(name, ()), now.get(name, ())
        if set(old) != set(new):
            found.append(Moved(name, _first_but(new, old), _first_but(old, new)))
    return tuple(found)


def _first_but(others: Sequence[str], knobs: Sequence[str]) -> str | None:
    """The first of some knobs that is none of the others, else the first; None: there are none."""
    return next(iter([*(knob for knob in knobs if knob not in others), *knobs]), None)


def _reasons(allocation: Allocation, moved: Sequence[Moved], wish: Wish) -> tuple[NotThere, ...]:
    """Why what the edit does not place itself is not where it was."""
    case = Case(allocation)
    back = {(r.destination, r.knob) for r in wish.previous.routes} if wish.previous else set()
    return tuple(
        not_there(case, each.destination, each.before)
        for each in moved
        if each.before in allocation.request.surface.knob_names
        and each.destination in allocation.request.by_full_name
        and each.destination not in {*wish.named, *(n for names in wish.bundles for n in names)}
        and (each.destination, each.after) not in back
    )


def left_standing(earlier: Iterable[Rule], later: Iterable[Rule]) -> tuple[Rule, ...]:
    """What is left of earlier rules beside later ones: the later one stands.

    Args:
        earlier: rules that name destinations in full.
        later: likewise.

    Returns:
        The earlier rules, those that a later one contradicts without what it names.
    """
    found = []
    for old in earlier:
        rule: Rule | None = old
        for new in later:
            rule = None if rule is None or rule == new else _beside(rule, new)
        if rule is not None:
            found.append(rule)
    return tuple(found)


def _beside(old: Rule, new: Rule) -> Rule | None:
    """What is left of an earlier rule beside a later one."""
    knobs = (*rule_knobs(old).values(), *rule_knobs(new).values())
    was, now = (rule.effect(tuple, knobs) for rule in (old, new))
    gone: Collection[str] = ()
    if now.on in was.off or was.on in now.off:
        gone = now.limited
    elif was.joined and now.alone:
        gone = now.alone if set(was.joined) - set(now.alone) else ()
    elif was.joined and now.parted:
        gone = now.parted[0] if _on_both(now.parted, was.joined) else ()
    elif was.parted and now.joined and _on_both(was.parted, now.joined):
        first = tuple(name for name in was.parted[0] if name not in now.joined)
        return Apart(first, was.parted[1], old.weight) if first else None
    elif was.alone and (now.joined or now.alone):
        own, others = set(was.alone), set(now.joined or now.alone)
        within = others <= own if now.joined else others == own
        gone = others if own & others and not within else ()
    return rule_without(old, gone) if gone else old


def _on_both(sides: Iterable[Sequence[str]], names: Iterable[str]) -> bool:
    """Whether some names are on both sides."""
    return all(set(names).intersection(side) for side in sides)
