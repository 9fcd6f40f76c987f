"""Each edit of a small setup, against every layout that does what is asked."""

from __future__ import annotations

import random
from collections import Counter
from itertools import combinations

import attrs
import pytest

from knobpack.clash import ImpossibleDemands
from knobpack.edits.editor import edit
from knobpack.errors import InputError
from knobpack.setups.as_read import read
from knobpack.words import Setup
from knobpack.words.setup_edits import Join, OnKnob, OutOfUse, OwnKnob, Part, Swap
from tests.edits.every_layout import Cost, Where, cost, knob_of, layouts
from tests.edits.setups import Routing, small_setup, some_edit
from tests.oracles.amount import EXAMPLES


def does(what: Routing, before: Where, now: Where) -> bool:
    """Whether a layout does what is asked."""
    match what:
        case OwnKnob(names=names, knob=knob):
            own = {now.get(name) for name in names}
            alone = {name for name in now if now[name] in own} == set(names)
            met = len(own) == 1 and None not in own and knob in (None, *own) and alone
        case OnKnob(names=names, knob=knob):
            met = all(now.get(name) == knob for name in names)
        case Swap(one=one, other=other):
            to = {one: other, other: one}
            met = all(now.get(n) == to[at] for n, at in before.items() if at in to)
        case Part(names=names):
            met = not any(now.get(a) == now.get(b) for a, b in combinations(names, 2))
        case Join(knobs=knobs):
            met = len({now.get(name) for name, at in before.items() if at in knobs}) == 1
        case OutOfUse(knob=knob):
            met = knob not in now.values()
    return met


def named(what: Routing, before: Where) -> tuple[str, ...]:
    """What an edit is about: what is on its knob already stays with what it is beside."""
    if isinstance(what, OnKnob):
        return tuple(name for name in what.names if before.get(name) != what.knob)
    return what.names if isinstance(what, OwnKnob | Part) else ()


def waits(what: Routing, broken: set[str]) -> bool:
    """Whether an edit is about a knob that is out of use, and holds again when it is back."""
    match what:
        case OwnKnob(knob=knob) | OnKnob(knob=knob):
            return knob in broken
        case Swap(one=one, other=other):
            return one in broken or other in broken
    return False


def placed(what: Routing, before: Where) -> set[str]:
    """What an edit is about, which is not left out."""
    knobs = what.knobs if isinstance(what, Join) else ()
    return {*named(what, before), *(name for name, at in before.items() if at in knobs)}


def least(setup: Setup, what: Routing) -> Cost | None:
    """The least lost, and the fewest bundles and routes elsewhere, of all layouts."""
    before = knob_of(setup)
    needed = placed(what, before)

    def will_do(now: Where) -> bool:
        return not any(now[name] is None for name in needed) and does(what, before, now)

    edited = named(what, before)
    found = layouts(setup, edited=edited, will_do=will_do)
    return min((cost(setup, now, edited) for now in found), default=None)


def test_each_edit_moves_the_least_there_is() -> None:
    seen: Counter[str] = Counter()
    for seed in range(max(100, EXAMPLES // 3)):
        setup = small_setup(seed, knobs=3 if seed % 3 == 0 else 4)
        what = some_edit(setup, random.Random(seed))  # noqa: S311 (no secret)
        kind = type(what).__name__
        try:
            found = edit(setup, what)
        except InputError:
            assert isinstance(what, Swap), (seed, what)
            assert what.one == what.other
            continue
        except ImpossibleDemands:
            assert least(setup, what) is None, (seed, what)
            seen["impossible"] += 1
            continue
        before, now = knob_of(setup), knob_of(found.setup)
        lost = [name for name in before if name not in now]
        told = cost(setup, {**dict.fromkeys(before), **now}, named(what, before))
        best = least(setup, what)
        assert best is not None
        # What a snapshot tears already goes as one (test_torn.py), of which this knows nothing.
        torn = isinstance(what, OutOfUse) and what.knob in {e.knob for e in read(setup).torn}
        assert told == best or (torn and told < best), (seed, what)
        assert found.proven
        assert ("; proven: less will not do" in str(found)) == bool(found.moved)
        assert {each.destination for each in found.moved} == {
            name for name in {*before, *now} if before.get(name) != now.get(name)
        }
        assert set(found.left_out) == set(lost)
        seen[kind] += 1
        seen["moved others"] += bool(found.reasons)
        seen["lost"] += bool(lost)
    assert len(seen) == 9, seen
    assert min(seen.values()) > 2, seen


def test_what_each_edit_asked_for_holds_through_later_ones() -> None:
    replaced = held = 0
    for seed in range(max(30, EXAMPLES // 10)):
        setup, draw = small_setup(seed, knobs=6), random.Random(seed)  # noqa: S311 (no secret)
        done: list[tuple[Routing, dict[str, str | None]]] = []
        for _ in range(4):
            what = some_edit(setup, draw)
            try:
                found = edit(setup, what)
            except (InputError, ImpossibleDemands):
                continue
            if found.replaced:
                replaced += 1
                done = []  # what it overrides is told; what is left of it is not followed here
                assert "overrides what an earlier edit asked for" in str(found)
            done.append((what, knob_of(setup)))
            setup = found.setup
            now = knob_of(setup)
            for earlier, before in done:
                if waits(earlier, {each.knob for each in setup.broken}):
                    continue
                there = {name: at for name, at in before.items() if name in now}
                if placed(earlier, before) <= set(now):
                    assert does(earlier, there, now), (seed, earlier, what)
                    held += len(done) > 1
    assert replaced > 3
    assert held > 30


def test_a_setup_that_is_edited_is_written_and_read_back_with_what_was_agreed() -> None:
    from knobpack.files import dumps, loads

    setup = small_setup(3, knobs=6)
    name = setup.routes[0].destination
    setup = edit(setup, OwnKnob((name,))).setup
    setup = edit(setup, OutOfUse("K2")).setup
    assert loads(dumps(setup)) == setup
    assert setup.agreed
    assert setup.broken


@pytest.mark.parametrize(
    ("what", "field", "right"),
    [
        (OwnKnob(("Orgam/level",)), "OwnKnob.names[0]", "close to it: Organ/level"),
        (OnKnob(("Organ/level",), "K9"), "OnKnob.knob", "name a knob"),
        (Swap("K1", "K1"), "Swap.other", "two different knobs"),
        (Part(("Organ/level",)), "Part.names", "two destinations or more"),
        (Part(("Organ",), ("Organ/level",)), "Part.others", "parted from itself"),
        (Part(("Organ", "Organ/level")), "Part.names", "parted from itself"),
        (Join(("K1", "K5")), "Join.knobs[1]", "it drives nothing"),
        (OutOfUse("K0"), "OutOfUse.knob", "name a knob of the setup"),
    ],
)
def test_what_cannot_be_asked_is_refused_with_what_would_be_right(
    what: Routing, field: str, right: str
) -> None:
    routes = tuple(
        attrs.evolve(route, knob="K1" if route.destination == "Organ/level" else "K2")
        for route in small_setup(0, knobs=5).routes
    )
    setup = attrs.evolve(small_setup(0, knobs=5), routes=routes)
    with pytest.raises(InputError) as caught:
        edit(setup, what)
    assert caught.value.field == field
    assert right in str(caught.value)
