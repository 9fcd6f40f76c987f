"""Pieces: what the quick arguments claim, against trying every way."""

from __future__ import annotations

import itertools
from collections import Counter

from hypothesis import given, settings
from hypothesis import strategies as st

from benchmarks.foreign_requests import FOREIGN
from knobpack.numbered.problem import bits
from knobpack.numbered.request import problem_of
from knobpack.solver.cp_sat.packing import needed_placed, pack
from knobpack.solver.primal.greedy import greedy
from knobpack.solver.rivals import Piece, Pieces
from knobpack.solver.watch import Watch
from tests.oracles.amount import EXAMPLES

KNOBS = 3
MANY = settings(max_examples=EXAMPLES)


@st.composite
def some_pieces(draw: st.DrawFn) -> Pieces:
    """Up to 5 pieces of 1 or 2 destinations on 3 knobs, many of them rivals."""
    count = draw(st.integers(1, 5))
    members, bit = [], 0
    for _ in range(count):
        size = draw(st.sampled_from((1, 1, 2)))
        members.append(((1 << size) - 1) << bit)
        bit += size
    against = [0] * count
    for one, other in itertools.combinations(range(count), 2):
        if draw(st.booleans()):
            against[one] |= members[other]
            against[other] |= members[one]
    rooms = [draw(st.sampled_from((7, 7, 7, 3, 5, 6, 1, 2, 4))) for _ in range(count)]
    return Pieces(tuple(map(Piece, members, rooms, against)))


def fits(pieces: Pieces, most: int | None, knobs: tuple[int, ...]) -> bool:
    """Whether every piece can be on the knob it is given."""
    load: Counter[int] = Counter()
    for piece, knob in zip(pieces.pieces, knobs, strict=True):
        load[knob] += piece.size
    pairs = itertools.combinations(zip(pieces.pieces, knobs, strict=True), 2)
    return (
        all(piece.knobs >> knob & 1 for piece, knob in zip(pieces.pieces, knobs, strict=True))
        and all(a != b or not one.against & other.members for (one, a), (other, b) in pairs)
        and (most is None or max(load.values()) <= most)
    )


def can_be_placed(pieces: Pieces, most: int | None) -> bool:
    every = itertools.product(range(KNOBS), repeat=len(pieces.pieces))
    return any(fits(pieces, most, knobs) for knobs in every)


def part(pieces: Pieces, numbers: tuple[int, ...]) -> Pieces:
    return Pieces(tuple(pieces.pieces[number] for number in numbers))


@MANY
@given(some_pieces(), st.sampled_from((None, 1, 2, 3, 4)))
def test_what_quick_arguments_and_the_solver_say_is_so(pieces: Pieces, most: int | None) -> None:
    possible = can_be_placed(pieces, most)
    assert pack(pieces, most, Watch(effort=10.0))[0] == possible
    knobs = pieces.greedy(most)
    if knobs is not None:
        assert fits(pieces, most, knobs)
    crowd = pieces.crowded()
    if crowd is not None:
        assert len(crowd) > pieces.room(crowd).bit_count()
        assert all(pieces.rivals[a] >> b & 1 for a, b in itertools.combinations(crowd, 2))
        assert not can_be_placed(part(pieces, crowd), None)
    full = pieces.overfull(most) if most else None
    if full is not None:
        assert not can_be_placed(part(pieces, full), most)


@MANY
@given(some_pieces())
def test_a_crowd_is_seen_wherever_one_is(pieces: Pieces) -> None:
    """With so few pieces every clique that matters is grown from one of its members."""
    everyone = tuple(range(len(pieces.pieces)))
    rivals = all(pieces.rivals[a] >> b & 1 for a, b in itertools.combinations(everyone, 2))
    if rivals:
        assert (pieces.crowded() is None) == can_be_placed(pieces, None)


def test_bits_are_told_lowest_first() -> None:
    assert list(bits(0b101001)) == [0, 3, 5]


def test_what_may_not_be_left_out_is_always_placed_where_it_can_be() -> None:
    packed = 0
    for seed in range(40):
        problem = problem_of(FOREIGN["planted"](seed))
        if greedy(problem, Watch(10.0)) is not None:
            continue
        needed = needed_placed(problem, Watch(10.0))
        assert needed is not None
        knobs = greedy(problem, Watch(10.0), needed)
        assert knobs is not None
        assert knobs.keys() >= needed.keys()
        for number, atom in enumerate(problem.atoms):
            (knob,) = {knobs[item] for item in bits(atom.items)}
            clashing = problem.items_of(problem.clashes[number])
            assert atom.knobs >> knob & 1
            assert all(knobs[item] != knob for item in bits(clashing) if item in knobs)
        packed += 1
    assert packed > 10
