"""Every number of one request that holds a little of everything, against a reckoning by hand."""

from __future__ import annotations

import attrs
import pytest

from knobpack.definition.prices import IN_USE_TIERS, TIERS
from knobpack.numbered.problem import Atom, Before, Problem, Spread
from knobpack.numbered.request import problem_of
from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    Group,
    Knob,
    KnobTravel,
    Layout,
    Request,
    Route,
    Rule,
    Snapshot,
    Surface,
    Together,
    Travel,
    Voice,
    Weights,
)

# Items 0 to 3: A/x, A/y, B/z, B/u; a mask is written with item 0 at the right. Knobs 0 to 2: K1
# and K2 side by side, K3 below K1.
REQUEST = Request(
    Surface(
        (Knob("K1", 1, 1, ("level",)), Knob("K2", 1, 2), Knob("K3", 2, 1)),
        reserved=("K2",),
        favoured=("K3",),
        destinations_per_knob=3,
        routes=4,
    ),
    (
        Voice(
            "A",
            (
                Destination("x", "level", 1, source_knob="S1"),
                Destination("y", "pan", 5, Travel(127, 0), "S1"),
            ),
            source="Old",
        ),
        Voice(
            "B",
            (
                Destination("z", "level", 3, Travel(0, 63), "S1"),
                Destination("u", "level", 2, source_knob="S1", movable=False),
            ),
        ),
    ),
    groups=(Group("G", ("A", "B/z")),),
    snapshots=(Snapshot("firm", ("B",)), Snapshot("loose", ("A",), 7), Snapshot("free", ("B",), 0)),
    rules=(
        Apart(("A/x",), ("A/y",)),
        Apart(("A/x",), ("B/u",), 9),
        Apart(("B",), ("A/x",), 4),
        Alone(("B/u",), 5),
        Together(("A",), 11),
        Together(("B/z",), 3),
        Fixed(("A/x",), "K3"),
        Fixed(("A/y",), "K1", 6),
        Barred(("A/y",), ("K3",)),
        Barred(("B",), ("K2", "K3"), 2),
    ),
    keep=Layout(
        (Route("B/u", "K2"),),
        (KnobTravel("K2", Travel(10, 20)), KnobTravel("K1", Travel(5, 5))),
    ),
    previous=Layout(
        (Route("A/y", "K1"), Route("B/z", "gone"), Route("C/x", "K1")),
        (KnobTravel("K1", Travel(0, 5)), KnobTravel("gone", Travel(127, 0))),
    ),
)
FULL = Travel(0, 127)


def problem() -> Problem:
    return problem_of(REQUEST)


def test_sizes_and_limits() -> None:
    found = problem()
    assert (found.knobs, found.items, found.per_knob, found.routes) == (3, 4, 3, 4)


@pytest.mark.parametrize("count", [0, 1])
def test_a_knob_may_carry_one_however_little_is_asked(count: int) -> None:
    voice = Voice("A", tuple(Destination(f"x{number}") for number in range(count)))
    found = problem_of(Request(Surface.row(1), (voice,)))
    assert (found.items, found.per_knob, found.routes) == (count, 1, count)


def test_atoms() -> None:
    # x is fixed on K3 and u kept on K2, so neither may be left out; K2 takes nothing else, and y
    # is barred from K3. Omissions are those of priorities 1, 5, 3 and 2; y is hidden, which costs a
    # point less than a crowd. Each is of a bundle.
    assert problem().atoms == (
        Atom(0b0001, 1, 0b100, 2, True, 256, 1),
        Atom(0b0010, 1, 0b001, None, False, 0, 1, 99),
        Atom(0b0100, 1, 0b101, None, False, 16, 1),
        Atom(0b1000, 1, 0b010, 1, True, 64, 1),
    )
    # z alone moves in "firm", and x and y are apart by a rule.
    assert problem().clashes == (0b0110, 0b0101, 0b1011, 0b0100)


def test_what_is_alike() -> None:
    kinds, voices, loads, essential, company, beside, crowd = (mix.masks for mix in problem().mixes)
    assert kinds == (0b1101,)
    assert voices == loads == (0b0011, 0b1100)
    assert essential == crowd == ()
    # x alone is essential; all the rest; the other voice.
    assert [mix.among for mix in problem().mixes] == [-1, -1, -1, 0b0001, -1, 0b1101, -1]
    assert (company, beside) == ((0b1110,), (0b1100,))


def test_travels() -> None:
    # Rates 16, 1, 4 and 8. 64 of 127 are 50 hundredths, 190 are 150; with what is out of reach 64 +
    # 64 are 101, 190 + 64, 137 + 117 and 127 + 127 are 200, 117 + 117 are 184, 53 + 53 are 83 and
    # 63 + 63 are 99.
    assert problem().travel_prices == (
        (0, 200, 200, 0),  # 0 to 127
        (3200, 0, 600, 1600),  # 127 to 0
        (1616, 200, 0, 808),  # 0 to 63
        (2944, 200, 332, 1472),  # 10 to 20
        (3200, 200, 396, 1600),  # 5 to 5
    )
    assert problem().wanted == (0, 1, 2, 0)
    assert problem().kept_travels == {1: 3}  # K1 keeps no route, so its travel is free


def test_what_sharing_costs() -> None:
    found = problem()
    assert [mix.weight for mix in found.mixes] == [300, 200, 2000, 1000, 300, 300, 100]
    # A bundle of Old and one of B; what is together with itself costs nothing.
    assert problem().bundles == (0b0011, 0b1100)
    assert problem().spreads == (Spread(0b0011, 11),)
    assert problem().pairs == {(0, 2): 4, (0, 3): 13}
    assert problem().intrusions == ((0b1000, 5),)
    assert problem().breakable == ((0b0011, 7),)


def test_what_stays_and_where_things_stand() -> None:
    # The travel of K1 is wanted by none, that of a knob that is gone by y.
    assert problem().before == (Before(0b0010, 0b0010, 0, -1), Before(0b0100, 0b0100, None, 1))
    assert problem().standing == (8, 0, 2, 4)
    assert (problem().sequence, problem().out_of_sequence) == ((), 1000)
    # Level is usual on K1: 10 elsewhere. y is rather on K1: 6 elsewhere. z and u are rather not on
    # K2 and K3: 2.
    assert problem().places == ((0, 10, 10), (0, 6, 6), (0, 12, 12), (0, 12, 12))
    assert problem().steps == (1, 2, 0)
    assert problem().pulls == (4, 0, 2, 3)
    assert problem().runs == ((0b0011, 60), (0b1100, 60), (0b0111, 20))
    assert problem().beside == (False, True, False)


def test_what_came_in_sequence_is_numbered_in_pairs() -> None:
    inner = tuple(Destination(name, source_knob=knob) for name, knob in ("x3", "y1", "z3", "u2"))
    found = problem_of(Request(Surface.row(3), (Voice("A", inner),), snapshots=()))
    # Of S3 x stands for both; no place is told, so the knobs come as they are named.
    assert found.sequence == ((0, 1), (1, 3))
    assert found.bundles == (0b0101,)


def test_what_is_expendable_clashes_with_all_but_its_bundle() -> None:
    names = (("x", 5, "S1"), ("y", 5, "S1"), ("z", 3, None), ("u", 5, None), ("v", 5, "S2"))
    inner = tuple(Destination(name, "level", each, source_knob=at) for name, each, at in names)
    rules = (Fixed(("A/v",), "K1"),)
    found = problem_of(Request(Surface.row(3), (Voice("A", inner),), snapshots=(), rules=rules))
    # x and y are a bundle; v is hidden as well, but is fixed.
    assert found.clashes == (0b11100, 0b11100, 0b01011, 0b10111, 0b01011)
    assert [atom.knobs for atom in found.atoms] == [0b111, 0b111, 0b111, 0b111, 0b001]


def an_edit(surface: Surface, *travels: KnobTravel) -> Problem:
    """Four destinations: x, y and z were on K1, where the edit names z; u is new; x alone moves."""
    voice = Voice("A", tuple(Destination(name) for name in "xyzu"))
    routes = (*(Route(f"A/{name}", "K1") for name in "xyz"), Route("A/gone", "K2"))
    return problem_of(
        Request(
            surface,
            (voice,),
            snapshots=(Snapshot("firm", ("A/x",)),),
            previous=Layout(routes, travels),
            in_use=True,
            edited=("A/z",),
        )
    )


def test_an_edit_of_a_layout_in_use() -> None:
    travels = (KnobTravel("K1", Travel(0, 9)), KnobTravel("K2", FULL), KnobTravel("K9", FULL))
    found = an_edit(Surface.row(3), *travels)
    assert (found.order, found.in_use) == (IN_USE_TIERS, True)
    # x and y may stay together, though x alone moves; z is named, so it and u may not come to x.
    assert found.joined == (0b0010, 0b0001, 0, 0)
    assert found.clashes == (0b1100, 0, 0b0001, 0b0001)
    assert found.bundles == (0b0011,)
    # All want 0 to 127; K1 had 0 to 9, 118 of 127 off and out of reach: 186 hundredths at 4. K9 is
    # none of these.
    assert found.travel_prices == ((0,) * 4, (4 * 186,) * 4)
    assert found.travels_there == {0: 1, 1: 0}
    assert found.before == (Before(0b0111, 0b0011, 0, 1),)


def test_what_a_knob_drove_is_joined_and_nothing_else_is() -> None:
    voice = Voice("A", tuple(Destination(name) for name in "xyzu"))
    previous = Layout.of({"K1": ["A/x"], "K2": ["A/y", "A/u"]})
    found = problem_of(Request(Surface.row(2), (voice,), previous=previous, in_use=True))
    assert found.joined == (0, 0b1000, 0, 0b0010)


def test_no_edit_has_nothing_that_is_there() -> None:
    assert (problem().order, problem().in_use, problem().joined) == (TIERS, False, ())
    assert problem().travels_there == {}


def test_where_routes_have_travels_no_knob_keeps_one_in_an_edit() -> None:
    found = an_edit(Surface.row(3, travel_on="route"), KnobTravel("K1", Travel(0, 9)))
    assert (found.travels_there, found.travel_prices) == ({}, ((0,) * 4,))
    assert found.wanted == (0,) * 4
    assert found.before == (Before(0b0111, 0b0011, 0, None),)


def joined(*rules: Rule, per_knob: int | None = None) -> Problem:
    """Three voices of a destination each on two knobs, everything moving, under some rules."""
    voices = tuple(Voice(name, (Destination("x"),)) for name in "ABC")
    surface = Surface.row(2, destinations_per_knob=per_knob)
    return problem_of(Request(surface, voices, snapshots=(), rules=rules))


@pytest.mark.parametrize("apart", ["A", "B"])
def test_what_one_of_an_atom_may_not_share_with_none_of_it_may(apart: str) -> None:
    found = joined(Together(("A", "B")), Apart((apart,), ("C",)))
    assert [atom.items for atom in found.atoms] == [0b011, 0b100]
    assert found.clashes == (0b10, 0b01)


def test_a_rule_parts_nothing_from_itself() -> None:
    for one, both, clashes in (("A", "AB", (0b010, 0b001, 0)), ("C", "BC", (0, 0b100, 0b010))):
        for rule in (Apart((one,), tuple(both)), Apart(tuple(both), (one,))):
            found = joined(rule)
            assert found.clashes == clashes
            assert [atom.knobs for atom in found.atoms] == [0b11, 0b11, 0b11]


def test_pairs_that_are_rather_apart_come_in_order_each_once() -> None:
    found = joined(Apart(("A", "B"), ("C", "B", "A"), 7), Apart(("C",), ("A",), 2))
    assert list(found.pairs.items()) == [((0, 1), 7), ((0, 2), 9), ((1, 2), 7)]
    many = tuple(Voice(f"V{number}", (Destination("x"),)) for number in range(9))
    names = tuple(voice.name for voice in many)
    rule = Apart(names[::-1], names, 1)
    pairs = problem_of(Request(Surface.row(2), many, snapshots=(), rules=(rule,))).pairs
    assert list(pairs) == [(a, b) for a in range(9) for b in range(a + 1, 9)]


def test_runs_that_cost_nothing_are_none() -> None:
    free = attrs.evolve(REQUEST, weights=Weights(voice_runs=0))
    assert problem_of(free).runs == ((0b0111, 20),)


def test_an_atom_at_odds_with_itself_has_no_knob_and_does_not_clash_with_itself() -> None:
    found = joined(Together(("B", "C")), Apart(("B",), ("C",)))
    assert [(atom.items, atom.knobs) for atom in found.atoms] == [(0b001, 0b11), (0b110, 0)]
    assert found.clashes == (0, 0)


def test_one_that_must_be_placed_needs_a_knob_for_all_of_its_atom() -> None:
    voices = tuple(Voice(name, (Destination("x", must_place=name == "B"),)) for name in "ABC")
    rule = Together(("A", "B"))
    found = problem_of(Request(Surface.row(2), voices, snapshots=(), rules=(rule,)))
    assert [atom.needed for atom in found.atoms] == [True, False]


def test_what_is_pinned_and_has_no_knob_is_impossible_and_not_contradicted() -> None:
    torn = joined(Together(("A", "B")), Fixed(("A",), "K2"), Fixed(("B",), "K1"))
    barred = joined(Fixed(("A",), "K1"), Barred(("A",), ("K1",)))
    for found in (torn, barred):
        first = found.atoms[0]
        assert (first.knobs, first.pinned, first.needed, first.contradicted) == (0, 0, True, False)
        assert found.impossible


def test_an_atom_of_more_than_a_knob_may_carry_has_no_knob() -> None:
    rule = Together(("A", "B", "C"))
    assert [atom.knobs for atom in joined(rule, per_knob=2).atoms] == [0]
    assert [atom.knobs for atom in joined(rule, per_knob=3).atoms] == [0b11]


def test_what_may_not_share_with_one_further_down_an_atom_may_not_with_the_atom() -> None:
    voices = tuple(Voice(name, (Destination("x"),)) for name in "ABCD")
    rules = Together(("A", "B", "C")), Apart(("B",), ("D",))
    found = problem_of(Request(Surface.row(2), voices, snapshots=(), rules=rules))
    assert found.clashes == (0b10, 0b01)


def test_who_may_share_is_asked_without_prices() -> None:
    found = problem_of(REQUEST, spare=True)
    assert (found.travel_prices, found.wanted) == (((0,) * 4,), (0,) * 4)
