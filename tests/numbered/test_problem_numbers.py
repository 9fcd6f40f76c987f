"""What a problem says of itself, each number against a reckoning by hand.

A mask is written with item, atom or knob 0 at the right.
"""

from __future__ import annotations

from typing import Any

import attrs

from knobpack.numbered.components import components
from knobpack.numbered.less import (
    breaking_only,
    broken_by_atoms,
    forgiving,
    part_of,
    with_knob_shut,
)
from knobpack.numbered.problem import Atom, Mix, Problem, Spread, sets_of
from tests.oracles.problems import a_problem

MIXES = (
    Mix(10, (0b000011, 0b011000)),
    Mix(5, (0b000011,)),
    Mix(0, (0b000110,)),
    Mix(7, (0b000111,), heap=4),
    Mix(2),
)


def mixed(knobs: int) -> Problem:
    return a_problem(knobs, 6, mixes=MIXES)


def atom(items: int, knobs: int = 0b111, **changes: Any) -> Atom:
    """An atom that costs nothing to leave out."""
    plain = Atom(items, items.bit_count(), knobs, None, needed=False, omission=0)
    return attrs.evolve(plain, **changes)


def of_atoms(*atoms: Atom, **changes: Any) -> Problem:
    items = sum(each.size for each in atoms)
    given: dict[str, Any] = {"atoms": atoms, "clashes": (0,) * len(atoms), **changes}
    return a_problem(3, items, **given)


def test_an_atom_may_be_left_out_for_nothing() -> None:
    free = atom(0b1)
    assert free.free_to_leave is True
    assert attrs.evolve(free, hidden=99).free_to_leave is True
    costs: tuple[dict[str, Any], ...] = ({"needed": True}, {"omission": 1}, {"strays": 1})
    assert [attrs.evolve(free, **cost).free_to_leave for cost in costs] == [False] * 3
    assert attrs.evolve(free, omission=4, strays=2, hidden=9).costs == (4, 2, 0, 9)


def test_classes_cost_on_each_knob_and_single_items_wherever_they_are() -> None:
    assert mixed(2).first == 10 + 5 + 0 + 7 + 2
    assert mixed(2).classes == ((0b000011, 15), (0b011000, 10), (0b000111, 7))
    assert a_problem(2, 3, mixes=(Mix(9, among=0),)).classes == ()  # no item counts
    # 24 less what the classes of each item cost.
    assert mixed(2).each == (24 - 22, 24 - 22, 24 - 7, 24 - 10, 24 - 10, 24)


def test_what_is_in_no_class_is_one_of_its_own() -> None:
    counts = {0: 0, 0b000001: 1, 0b000011: 1, 0b001011: 2, 0b000100: 1, 0b100111: 3}
    assert {items: MIXES[0].count(items) for items in counts} == counts


def test_each_two_loads_more_than_one_are_a_heap() -> None:
    found = mixed(2)
    assert found.heap == 4
    assert found.load_masks == (0b000111, 0b001000, 0b010000, 0b100000)
    loads = {0: 0, 0b000111: 0, 0b001001: 0, 0b011001: 1, 0b111000: 1, 0b111011: 3}
    assert {items: found.heaped(items) for items in loads} == {
        items: 4 * pairs for items, pairs in loads.items()
    }
    plain = a_problem(2, 3, mixes=MIXES[:3])
    assert (plain.heap, plain.heaped(0b111)) == (0, 0)


def test_what_atoms_cost_together_and_by_themselves_and_where_they_are() -> None:
    pairs = {(0, 1): 5, (1, 3): 6, (0, 3): 9, (1, 2): 7}
    atoms = (atom(0b1001, 0b110), atom(0b0010, 0b100), atom(0b0100, 0b100))
    asked = {"spreads": (Spread(0b0110, 4),), "intrusions": ((0b0011, 5),)}
    found = of_atoms(*atoms, pairs=pairs, mixes=(Mix(2),), travel_prices=((1, 2, 3, 4),), **asked)
    assert found.travel_costs == ((1 + 4, 2, 3),)
    assert found.touched == ((0b0110, 4), (0b0011, 5), (0b1100, 5))
    assert mixed(2).touched == mixed(2).classes
    assert sets_of({0: 2, 1: 1, 2: 2}) == {0b101, 0b010}
    assert of_atoms(atom(0b1, 0)).may_share(0, 0)
    assert found.atom_pairs == {(0, 1): 5 + 6, (0, 0): 9, (1, 2): 7}
    assert found.by_itself == (2 + 2 + 9, 2, 2)
    assert found.open_knobs == 0b110
    assert found.atoms_on({0: 2, 1: 1, 2: 2, 3: 2}) == {2: 0b101, 1: 0b010}
    assert found.atoms_on({2: 0}) == {0: 0b100}


def test_what_first_knobs_are_counted_by_mistake() -> None:
    spreads = (Spread(0b011, 7), Spread(0b110, 4))
    found = a_problem(2, 3, bundles=(0b011, 0b101, 0b110), spreads=spreads)
    assert found.apiece == (0, 3, 0, 11)


def test_the_atoms_of_a_spread_are_those_that_may_be_on_a_knob() -> None:
    found = of_atoms(atom(0b0011), atom(0b0100, 0), atom(0b1000))
    found = attrs.evolve(found, spreads=(Spread(0b0111, 1), Spread(0b1001, 1), Spread(0b0100, 1)))
    assert found.spread_atoms == (0b001, 0b101, 0)


def test_what_is_pinned() -> None:
    pinned = of_atoms(
        *(atom(0b00001, pinned=2), atom(0b00110), atom(0b01000, pinned=0)),
        atom(0b10000, pinned=2),
    )
    assert pinned.pinned_knobs == 0b101
    assert pinned.items_pinned == {2: 0b10001, 0: 0b01000}
    assert pinned.items_of(0b0110) == 0b01110
    # A knob that something is pinned to is open only to what has that with it.
    assert [pinned.knobs_of(each) for each in (0, 0b0010, 0b0100, 0b0101, 0b1101)] == [
        *(0b010, 0b010, 0b011, 0b111, 0b111),
    ]


def test_a_set_may_be_where_all_of_it_may_be() -> None:
    found = of_atoms(atom(0b001, 0b011), atom(0b010, 0b110), atom(0b100, 0b011))
    assert [found.knobs_of(each) for each in (0b011, 0b110, 0b101)] == [0b010, 0b010, 0b011]


ONE, TWO, EVEN, MOST = atom(0b1), atom(0b10), atom(0b1100), atom(0b1110000)
BREAKABLE = ((0b0110101, 7), (0b0000010, 3))


def test_unbroken_what_moves_and_what_is_held_clashes() -> None:
    # The first snapshot moves ONE, half of EVEN and two of the three of MOST; the second TWO.
    found = of_atoms(ONE, TWO, EVEN, MOST, breakable=BREAKABLE, clashes=(0b0100, 0, 0b0001, 0))
    every = breaking_only(found)
    assert every.clashes == (0b0110, 0b1101, 0b0011, 0b0010)
    assert every.breakable == ()
    # What is torn and may as well be left out has no knob.
    assert [each.knobs for each in every.atoms] == [0b111, 0b111, 0, 0]
    first = breaking_only(found, but=(1,))
    assert first.clashes == (0b0110, 0b1001, 0b0001, 0b0010)
    assert first.breakable == BREAKABLE[1:]
    second = breaking_only(found, (0,))
    assert second.clashes == (0b0110, 0b1101, 0b0011, 0b0010)
    assert second.breakable == BREAKABLE[:1]
    assert [each.knobs for each in second.atoms] == [0b111] * 4
    assert breaking_only(found, (1, 0)).breakable == BREAKABLE
    # ONE and one of the three of MOST: that is held.
    third = breaking_only(of_atoms(ONE, TWO, EVEN, MOST, breakable=((0b0010001, 1),)))
    assert third.clashes == (0b1110, 0b0001, 0b0001, 0b0001)


def test_what_atoms_break_by_themselves_is_the_least() -> None:
    dear = [attrs.evolve(each, omission=1) for each in (EVEN, MOST)]
    found = of_atoms(ONE, TWO, *dear, breakable=BREAKABLE)
    assert [each.knobs for each in breaking_only(found).atoms] == [0b111] * 4
    assert broken_by_atoms(found, 0b1111111) == 7 * 1 + 7 * 1
    assert broken_by_atoms(found, 0b0000111) == broken_by_atoms(found, 0b1110000) == 7
    assert broken_by_atoms(found, 0b0000011) == 0
    # What may as well be left out breaks nothing.
    assert broken_by_atoms(of_atoms(ONE, TWO, EVEN, MOST, breakable=BREAKABLE), 0b1111111) == 0
    some = of_atoms(ONE, TWO, EVEN, dear[1], breakable=((0b0010100, 2), (0b0100000, 3)))
    assert broken_by_atoms(some, 0b1111111) == 2 + 3


def test_impossible_is_what_has_no_knob_though_it_must_be_on_one() -> None:
    fine = of_atoms(atom(0b01, 0), atom(0b10, needed=True))
    assert not fine.impossible
    assert of_atoms(atom(0b01), atom(0b10, 0, needed=True)).impossible
    blamed = of_atoms(atom(0b01), atom(0b10, 0, contradicted=True))
    assert blamed.impossible
    assert not forgiving(blamed).impossible
    assert forgiving(blamed).atoms == (atom(0b01), atom(0b10, 0))


def test_an_atom_with_one_place_is_not_movable() -> None:
    atoms = (atom(0b1, 0b10), atom(0b10, 0b10, needed=True), atom(0b100, 0b110, needed=True))
    found = of_atoms(*atoms, atom(0b1000, 0), atom(0b10000, 0, needed=True))
    assert [found.movable(number) for number in range(5)] == [True, False, True, False, False]


def test_a_part_has_atoms_of_its_own_on_some_knobs() -> None:
    whole = of_atoms(
        *(atom(0b0001), atom(0b0010), atom(0b1100, 0b110)),
        clashes=(0b110, 0b001, 0b001),
        pairs={(0, 1): 5, (0, 2): 6, (1, 2): 7, (1, 3): 8, (2, 3): 9},
    )
    part = part_of(whole, (2, 0), 0b011, 2)
    assert part.atoms == (atom(0b1100, 0b010), atom(0b0001, 0b011))
    assert part.clashes == (0b10, 0b01)
    assert part.pairs == {(0, 2): 6, (2, 3): 9}
    assert part.routes == 2
    assert part_of(whole, (1, 2), 0b111, 9).clashes == (0, 0)
    assert part.items == whole.items


def test_a_knob_less() -> None:
    found = with_knob_shut(of_atoms(atom(0b01), atom(0b10, 0b101)), 1)
    assert [each.knobs for each in found.atoms] == [0b101, 0b101]
    assert found.knobs == 3


def test_two_problems_are_the_same_where_all_they_say_is() -> None:
    assert mixed(2).poses_the_same_as(mixed(2))
    assert not mixed(2).poses_the_same_as(mixed(3))
    assert mixed(2) != mixed(2)  # else they would be compared wherever one is a key


def test_what_is_named_together_is_joined_through_others_too() -> None:
    assert components(6, ()) == [[0], [1], [2], [3], [4], [5]]
    assert components(6, (0b000110, 0b110000, 0b010010)) == [[0], [1, 2, 4, 5], [3]]
    assert components(7, (0b1100000, 0b0110000, 0b0011000, 0b0000101, 0)) == [
        *([0, 2], [1], [3, 4, 5, 6]),
    ]


def test_an_intrusion_touches_a_knob_from_both_sides() -> None:
    assert a_problem(2, 3, intrusions=((0b010, 5),)).touched == ((0b010, 5), (0b101, 5))
