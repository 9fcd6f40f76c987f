"""A request turned into numbers: what it allows is what the checker and the oracle find valid."""

from __future__ import annotations

import random
from fractions import Fraction
from itertools import combinations

import attrs
import pytest

from knobpack.checker import check
from knobpack.numbered.less import breaking_only, broken_by_atoms
from knobpack.numbered.problem import Before, bits
from knobpack.numbered.request import problem_of
from knobpack.reasons.ground import Ground
from knobpack.words import (
    Apart,
    Destination,
    Fixed,
    Layout,
    Request,
    Route,
    Snapshot,
    Surface,
    Together,
    Travel,
    Voice,
)
from knobpack.words.edits import placed, with_knobs
from knobpack.words.travel import distance, hundredths
from tests.oracles.brute import price
from tests.oracles.example import a_request
from tests.oracles.layouts import random_layout
from tests.oracles.problems import atoms_of, cases, every_placement, meets, possible, size_of


def numbers(request: Request, layout: Layout) -> dict[int, int]:
    names, knobs = list(request.by_full_name), request.surface.knob_names
    return {names.index(r.destination): knobs.index(r.knob) for r in layout.routes}


def joins_hidden(request: Request, layout: Layout) -> bool:
    """Whether something expendable shares a knob with what is not of its bundle."""
    prices = check(request, layout).prices
    return any(each.term == "intruding" for each in prices.bundles)


def test_it_allows_what_the_checker_finds_valid_and_nothing_else() -> None:
    valid = invalid = 0
    for case in cases(range(180)):
        draw = random.Random(case.seed)  # noqa: S311 (no secret)
        for _ in range(8):
            layout = Layout(random_layout(draw, case.request).routes)
            # What is hidden and joins others is never looked at: it is better left out.
            found = check(case.request, layout).valid and not joins_hidden(case.request, layout)
            allowed = meets(case.problem, numbers(case.request, layout))
            assert allowed == found, case.seed
            valid, invalid = valid + found, invalid + (not found)
    assert valid > 150
    assert invalid > 150


def test_unbroken_allows_what_also_breaks_nothing() -> None:
    broken = whole = 0
    for case in cases(range(250)):
        if not case.problem.breakable:
            continue
        unbroken = breaking_only(case.problem)
        assert unbroken.breakable == ()
        # A snapshot that may be broken for nothing is in no tier, and may be broken.
        draw = random.Random(case.seed)  # noqa: S311 (no secret)
        if any(snapshot.break_weight == 0 for snapshot in case.request.played):
            continue
        for _ in range(10):
            layout = Layout(random_layout(draw, case.request).routes)
            placed = numbers(case.request, layout)
            known = price(case.request, layout)
            # What one atom breaks by itself is taken for granted.
            alone = broken_by_atoms(case.problem, sum(1 << item for item in placed))
            sound = known.valid and not joins_hidden(case.request, layout)
            allowed = meets(unbroken, placed)
            assert allowed == (sound and known.totals[2] == alone), case.seed
            broken += sound and known.totals[2] > alone
            whole += allowed
    assert broken > 15
    assert whole > 50


def test_the_knobs_of_a_set_are_those_it_has_in_valid_placements() -> None:
    seen = 0
    for case in possible(range(120)):
        if size_of(case.request) > 1100:
            continue
        problem = case.problem
        for placement in every_placement(case.request):
            for knob, items in enumerate(placement.on):
                if items:
                    atoms = atoms_of(problem, items)
                    assert problem.items_of(atoms) == items
                    assert problem.knobs_of(atoms) >> knob & 1, case.seed
                    seen += 1
    assert seen > 1000


def test_impossible_is_never_said_of_what_is_possible() -> None:
    told = sum(case.problem.impossible for case in cases(range(400)))
    assert told > 20
    assert not any(case.problem.impossible for case in possible(range(400)))


def test_atoms_by_hand() -> None:
    request = a_request(
        rules=(
            Together(("Pad/cutoff", "Bass/drive")),
            Fixed(("Pad/pan",), "K2"),
            Apart(("Bass",), ("Pad/level",)),
        ),
        keep=Layout((Route("Bass/cutoff", "K2"),)),
    )
    problem = problem_of(request)
    # Pad/cutoff and Bass/drive by the rule; Pad/pan and Bass/cutoff since both are pinned to K2.
    assert [list(bits(atom.items)) for atom in problem.atoms] == [[0, 4], [1], [2, 3]]
    assert [atom.size for atom in problem.atoms] == [2, 1, 2]
    assert [atom.pinned for atom in problem.atoms] == [None, None, 1]
    assert [atom.needed for atom in problem.atoms] == [False, False, True]
    assert [list(bits(atom.knobs)) for atom in problem.atoms] == [[0, 1, 2], [0, 1, 2], [1]]
    # Priorities 1 and 5 (256, and 99 in sharing), 2 (64), 3 and 4 (16 + 4). Of a bundle is none.
    assert [atom.costs for atom in problem.atoms] == [(256, 0, 0, 99), (64, 0, 0, 0), (20, 0, 0, 0)]
    assert problem.clashes == (0b010, 0b101, 0b010)
    assert problem.pinned_knobs == 0b010
    assert problem.knobs_of(0b001) == 0b101
    assert problem.knobs_of(0b101) == 0b010


def test_the_numbers_of_the_lower_tiers_by_hand() -> None:
    surface = Surface.grid(2, 2, favoured=("K4",))
    voices = (Voice("A", (Destination("x", "level", 1), Destination("y", "pan", 5))), Voice("B"))
    previous = Layout((Route("A/y", "K3"), Route("A/x", "gone"), Route("C/z", "K1")))
    problem = problem_of(Request(surface, voices, previous=previous))
    # K4 is the first in reach, then K1, K2, K3; a new row begins at K3.
    assert problem.steps == (1, 2, 3, 0)
    assert problem.beside == (False, True, False, True)
    assert problem.pulls == (4, 0)
    assert problem.before == (Before(0b10, 0b10, 2, None), Before(0b01, 0b01, None, None))
    # A voice without destinations has no runs.
    assert problem.runs == ((0b11, 60),)


def test_nothing_stands_before_the_first_knob() -> None:
    # Not even the last one, where a row is so short that the two stand side by side.
    problem = problem_of(a_request(knobs=2))
    assert problem.beside == (False, True)


def test_what_a_firm_snapshot_moves_and_holds_clashes() -> None:
    inner = (Destination("x"), Destination("y", movable=False))
    voices = tuple(Voice(name, inner) for name in "AB")
    problem = problem_of(Request(Surface.row(4), voices, snapshots=(Snapshot("s", ("A",)),)))
    # Only A/x moves.
    assert problem.clashes == (0b1110, 0b0001, 0b0001, 0b0001)


@pytest.mark.parametrize("top", [127, 16383, 2**32 - 1])
def test_hundredths_are_rounded_to_the_nearest_half_up(top: int) -> None:
    draw = random.Random(top)  # noqa: S311 (no secret)
    for _ in range(300):
        one = Travel(draw.randint(0, top), draw.randint(0, top))
        other = Travel(draw.randint(0, top), draw.randint(0, top))
        exact = Fraction(100 * (abs(one.start - other.start) + abs(one.end - other.end)), top)
        found = distance(one, other, top)
        assert -Fraction(1, 2) < found - exact <= Fraction(1, 2)
        assert found == distance(other, one, top)


def test_hundredths_by_hand() -> None:
    assert distance(Travel(0, 127), Travel(127, 0), 127) == 200
    assert distance(Travel(0, 127), Travel(0, 127), 127) == 0
    assert hundredths(64, 127) == 50  # 50.4
    assert hundredths(1, 200) == 1  # half a hundredth


def test_bits_are_the_set_ones_lowest_first() -> None:
    for mask in (0, 1, 0b10110, 1 << 200 | 1):
        positions = list(bits(mask))
        assert positions == sorted(positions)
        assert sum(2**position for position in positions) == mask


def test_with_a_knob_to_spare_those_may_share_that_a_wider_panel_would_let() -> None:
    for case in cases(range(120)):
        request = case.request
        firm = [attrs.evolve(each, break_weight=None) for each in request.played]
        wide = placed(attrs.evolve(with_knobs(request, 1), snapshots=firm))
        spare, wider = problem_of(request, spare=True), problem_of(wide)
        assert spare.clashes == wider.clashes
        for atom, other in zip(spare.atoms, wider.atoms, strict=True):
            assert (atom.items, atom.size, atom.knobs) == (other.items, other.size, other.knobs)
            assert atom.pinned == other.pinned
        assert (spare.knobs, spare.per_knob) == (wider.knobs, wider.per_knob)


def test_atoms_may_share_where_no_fact_keeps_them_from_it() -> None:
    for case in cases(range(120)):
        problem, ground = problem_of(case.request), Ground(case.request)
        plain = [name for name in case.request.by_full_name if name not in case.request.expendable]
        at = dict(zip(case.request.by_full_name, range(problem.items), strict=True))
        for one, other in combinations(plain, 2):
            atoms = [problem.atom_of[at[name]] for name in (one, other)]
            sizes = [len(ground.unit(name)) for name in (one, other)]
            own = [problem.atoms[atom] for atom in atoms]
            if [atom.size for atom in own] != sizes or not all(atom.knobs for atom in own):
                continue  # on no knob at all, or pinned with others
            assert problem.may_share(*atoms) == (ground.parts(one, other) is None)
