"""What is wrong with a reason: facts against the words, obstacles against all that is possible.

Shares nothing with what makes them: a request is read as bits, what facts forbid is found by trying
every place in a world where nothing but these facts holds, and what can never be is looked for in
every valid layout.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache

import attrs

from knobpack.reasons.facts import Fact, Obstacle
from knobpack.words import Alone, Apart, Barred, Fixed, Request, Route, Rule, Together
from tests.oracles.reading import Reading, ReadRule, bits
from tests.oracles.reasons_layouts import ever_there, never_share, read_once, small
from tests.oracles.reasons_terms import Places

SIDED = ("moved", "held", "apart", "alone")
"""Kinds of fact that keep the first destination off the knob of each other."""
OF_LAYOUT = ("on", "used")


@attrs.frozen(eq=False)
class Asked:
    """A request read as bits, with what is looked up again and again."""

    request: Request
    reading: Reading
    bit: Mapping[str, int]
    snapshots: Mapping[str, int]
    """The mask of what moves in each snapshot that may not be broken."""
    rules: tuple[ReadRule, ...]
    """The required rules."""
    units: tuple[int, ...]
    """For each bit, the mask of what required rules bind it to, itself among them."""

    def named(self, mask: int) -> tuple[str, ...]:
        """The full names of a mask, in the order of the request."""
        return tuple(self.reading.names[bit] for bit in bits(mask))

    def unit(self, name: str) -> tuple[str, ...]:
        """What goes where a destination goes."""
        return self.named(self.units[self.bit[name]])

    def kept_on(self, name: str, knob: str) -> bool:
        """Whether the base keeps a destination there."""
        return Route(name, knob) in self.request.keep.routes


@lru_cache(maxsize=256)
def asked(request: Request) -> Asked:
    """Read a request."""
    reading = read_once(request)
    firm = list(reading.firm)
    snapshots = {each.name: firm.pop(0) for each in request.played if each.break_weight is None}
    rules = tuple(each for each in reading.rules if each.rule.weight is None)
    units = [1 << bit for bit in range(len(reading.names))]
    bound = [each.first for each in rules if isinstance(each.rule, Together)]
    for _ in bound:  # each round joins at least one more, if there is more to join
        for mask in bound:
            whole = mask
            for bit in bits(mask):
                whole |= units[bit]
            units = [whole if whole >> bit & 1 else unit for bit, unit in enumerate(units)]
    numbers = {name: position for position, name in enumerate(reading.names)}
    return Asked(request, reading, numbers, snapshots, rules, tuple(units))


# Facts ------------------------------------------------------------------------------------------


def wrong_in_fact(request: Request, places: Places, fact: Fact) -> list[str]:
    """All that is wrong in a fact about a request and a layout."""
    own = asked(request)
    names = list(fact.destinations)
    if len(set(names)) != len(names) or not all(name in own.bit for name in names):
        return [f"these are not destinations: {fact}"]
    if fact.knob is not None and fact.knob not in request.surface.knob_names:
        return [f"this is no knob: {fact}"]
    least, most, *fields = _SHAPES.get(fact.kind, (1, 0))
    given = [field for field in ("knob", "by", "count") if getattr(fact, field) is not None]
    if not least <= len(names) <= most or given != fields:
        return [f"this is no fact: {fact!r}"]
    return [] if _HOLDS[fact.kind](own, places, fact) else [f"this does not hold: {fact}"]


_SHAPES: dict[str, tuple[int, int, *tuple[str, ...]]] = {
    **dict.fromkeys(SIDED, (2, 10_000, "by")),
    "together": (2, 10_000, "by"),
    "fixed": (1, 1, "knob", "by"),
    "barred": (1, 1, "knob", "by"),
    "kept": (1, 1, "knob"),
    "reserved": (0, 0, "knob"),
    "destinations per knob": (0, 0, "count"),
    "routes": (0, 0, "count"),
    "on": (1, 10_000, "knob"),
    "used": (0, 0, "count"),
}
"""For each kind: how many destinations it names, at least and at most, and what else it says."""


def _moved(own: Asked, _: Places, fact: Fact) -> bool:
    first, *others = (own.bit[name] for name in fact.destinations)
    mask = own.snapshots.get(fact.by or "")
    if mask is None:
        return False
    mask = mask if fact.kind == "moved" else ~mask
    return bool(mask >> first & 1) and not any(mask >> other & 1 for other in others)


def _by_rule(sort: type[Rule], holds: Callable[[ReadRule, list[int], Fact], bool]) -> _Holds:
    """Whether a required rule of that sort and name says so."""

    def told(own: Asked, _: Places, fact: Fact) -> bool:
        inside = [own.bit[name] for name in fact.destinations]
        rules = [each for each in own.rules if isinstance(each.rule, sort)]
        return any(str(each.rule) == fact.by and holds(each, inside, fact) for each in rules)

    return told


def _apart(rule: ReadRule, inside: list[int], _: Fact) -> bool:
    a, b = rule.first, rule.second
    first, *others = inside
    return all((a >> first & b >> each & 1) or (b >> first & a >> each & 1) for each in others)


def _alone(rule: ReadRule, inside: list[int], _: Fact) -> bool:
    first, *others = (rule.first >> each & 1 for each in inside)
    return all(each != first for each in others)


def _together(rule: ReadRule, inside: list[int], _: Fact) -> bool:
    return all(rule.first >> each & 1 for each in inside)


def _fixed(rule: ReadRule, inside: list[int], fact: Fact) -> bool:
    there = isinstance(rule.rule, Fixed) and rule.rule.knob == fact.knob
    return there and _together(rule, inside, fact)


def _barred(rule: ReadRule, inside: list[int], fact: Fact) -> bool:
    there = isinstance(rule.rule, Barred) and fact.knob in rule.rule.knobs
    return there and _together(rule, inside, fact)


_Holds = Callable[[Asked, Places, Fact], bool]
_HOLDS: dict[str, _Holds] = {
    "moved": _moved,
    "held": _moved,
    "apart": _by_rule(Apart, _apart),
    "alone": _by_rule(Alone, _alone),
    "together": _by_rule(Together, _together),
    "fixed": _by_rule(Fixed, _fixed),
    "barred": _by_rule(Barred, _barred),
    "kept": lambda own, _, fact: own.kept_on(fact.destinations[0], fact.knob or ""),
    "reserved": lambda own, _, fact: fact.knob in own.request.surface.reserved,
    "destinations per knob": lambda own, _, fact: fact.count == own.reading.per_knob,
    "routes": lambda own, _, fact: fact.count == own.reading.routes,
    "on": lambda _, places, fact: all(places.get(n) == fact.knob for n in fact.destinations),
    "used": lambda _, places, fact: fact.count == len(places),
}


# What facts forbid ------------------------------------------------------------------------------


def may_be(request: Request, facts: Sequence[Fact], wanted: Mapping[str, str]) -> bool:
    """Whether some destinations may be on some knobs, where nothing but these facts holds."""
    known = dict(wanted)
    for fact in facts:
        if fact.kind in ("fixed", "kept", "on"):
            for name in fact.destinations:
                if known.setdefault(name, fact.knob or "") != fact.knob:
                    return False
    free = [name for fact in facts for name in fact.destinations if name not in known]
    return _somehow(asked(request), facts, {**known}, list(dict.fromkeys(free)))


def _somehow(
    own: Asked, facts: Sequence[Fact], at: dict[str, str | None], free: Sequence[str]
) -> bool:
    """Whether there is a place for each of ``free``, or none, with which all facts hold."""
    if not free:
        return all(_agrees(own, fact, at) for fact in facts) and _routed(facts, at)
    name, rest = free[0], free[1:]
    choices = (None, *own.request.surface.knob_names)
    return any(_somehow(own, facts, {**at, name: knob}, rest) for knob in choices)


def _agrees(own: Asked, fact: Fact, at: Mapping[str, str | None]) -> bool:
    here = [at[name] for name in fact.destinations]
    if fact.kind in SIDED:
        return here[0] is None or here[0] not in here[1:]
    if fact.kind == "together":
        return len(set(here)) == 1
    if fact.kind == "barred":
        return here[0] != fact.knob
    if fact.kind == "reserved":
        return all(own.kept_on(name, k) for name, k in at.items() if k and k == fact.knob)
    if fact.kind == "destinations per knob":
        each = [knob for knob in at.values() if knob is not None]
        return fact.count is not None and max(map(each.count, each), default=0) <= fact.count
    return True


def _routed(facts: Sequence[Fact], at: Mapping[str, str | None]) -> bool:
    """Whether these fit beside all routes that are in use, as far as facts speak of them."""
    most = [fact.count or 0 for fact in facts if fact.kind == "routes"]
    used = sum(fact.count or 0 for fact in facts if fact.kind == "used")
    return not most or used + sum(1 for knob in at.values() if knob is not None) <= most[0]


def _not_needed(request: Request, facts: Sequence[Fact], wanteds: Iterable[dict[str, str]]) -> bool:
    """Whether all that is wanted is forbidden without one of the facts too."""
    wanteds = list(wanteds)
    return any(
        not any(may_be(request, [*facts[:at], *facts[at + 1 :]], wanted) for wanted in wanteds)
        for at in range(len(facts))
    )


def wrong_in_obstacle(
    request: Request, places: Places, obstacle: Obstacle, wanted: Mapping[str, str]
) -> Iterator[str]:
    """All that is wrong in what is said to forbid that destinations are on a knob.

    Args:
        request: what is asked.
        places: the layout.
        obstacle: what is said.
        wanted: the knob of each destination in question.
    """
    if bad := _wrong_facts(request, places, obstacle):
        yield from bad
        return
    moving = {each for name in wanted for each in asked(request).unit(name)}
    for fact in obstacle.facts:
        if fact.kind == "on" and moving.intersection(fact.destinations):
            yield f"that is where it is now: {fact}"
    if may_be(request, obstacle.facts, wanted):
        yield f"these do not forbid {dict(wanted)}: {obstacle}"
    elif _not_needed(request, obstacle.facts, [dict(wanted)]):
        yield f"not all of these are needed: {obstacle.facts}"
    lasting = not any(fact.kind in OF_LAYOUT for fact in obstacle.facts)
    if obstacle.lasting != lasting:
        yield f"lasting is {obstacle.lasting}: {obstacle}"
    if lasting and small(request) and ever_there(request, wanted):
        yield f"a valid layout does what this forbids: {obstacle}"


def wrong_in_parting(
    request: Request, places: Places, obstacle: Obstacle, pair: tuple[str, str]
) -> Iterator[str]:
    """All that is wrong in what is said to keep two destinations from ever sharing a knob."""
    if bad := _wrong_facts(request, places, obstacle):
        yield from bad
        return
    if any(fact.kind in OF_LAYOUT for fact in obstacle.facts):
        yield f"that is not so in every layout: {obstacle}"
    wanteds = [dict.fromkeys(pair, knob) for knob in request.surface.knob_names]
    if any(may_be(request, obstacle.facts, wanted) for wanted in wanteds):
        yield f"these do not part {pair}: {obstacle}"
    elif _not_needed(request, obstacle.facts, wanteds):
        yield f"not all of these are needed: {obstacle.facts}"
    if small(request) and not never_share(request, pair):
        yield f"in a valid layout these share: {pair}"


def _wrong_facts(request: Request, places: Places, obstacle: Obstacle) -> list[str]:
    wrong = [each for fact in obstacle.facts for each in wrong_in_fact(request, places, fact)]
    return wrong if obstacle.facts else ["there are no facts"]
