"""Packing: CP-SAT puts each piece on one of its knobs, rivals on different ones.

The textbook model, one boolean for each piece and knob, with two changes. Pieces with the same
rivals claim a knob as one, so that at most one such class claims it. And of knobs that are alike,
one is used only by a piece after another that uses the one before it: alike knobs can always be
renamed so, whatever the pieces, so this never hides a layout.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.cliques import clique_cover
from knobpack.solver.cp_sat import cp_model, cpsat
from knobpack.solver.outcome import ImpossibleError
from knobpack.solver.rivals import Piece, Pieces
from knobpack.solver.watch import Watch

Places: TypeAlias = Sequence[dict[int, cp_model.IntVar]]
"""For each piece, by number, a boolean for each knob that it may be on."""


def needed_placed(problem: Problem, watch: Watch) -> dict[int, int] | None:
    """The knob of each item of what may not be left out; None where none were found in time.

    Raises:
        ImpossibleError: there are none.
    """
    needed = [
        Piece(atom.items, atom.knobs, problem.items_of(problem.clashes[number]))
        for number, atom in enumerate(problem.atoms)
        if atom.needed
    ]
    pieces = Pieces(tuple(needed))
    if sum(piece.size for piece in needed) > problem.routes or pieces.crowded():
        raise ImpossibleError
    possible, knobs = pack(pieces, problem.per_knob, watch) if needed else (True, ())
    if possible is False:
        raise ImpossibleError
    if knobs is None:
        return None
    on = zip(needed, knobs, strict=True)
    return {item: knob for piece, knob in on for item in bits(piece.members)}


def pack(
    pieces: Pieces, most: int | None, watch: Watch
) -> tuple[bool | None, tuple[int, ...] | None]:
    """A knob for each piece.

    Args:
        pieces: what must be placed, one or more.
        most: how many destinations a knob carries at most; None: any number.
        watch: what may stop the search.

    Returns:
        Whether it can be done (None: stopped before that was known), and the knobs if it can.
    """
    model = cp_model.CpModel()
    places = [
        {knob: model.new_bool_var("") for knob in bits(piece.knobs)} for piece in pieces.pieces
    ]
    for on in places:
        model.add_exactly_one(on.values())
    if most is not None:
        _limit_load(model, pieces, places, most)
    _part_rivals(model, pieces, places)
    order = sorted(range(len(places)), key=lambda n: (-pieces.rivals[n].bit_count(), n))
    clique = pieces.clique(order[0])
    turns = [*clique, *(number for number in order if number not in clique)]
    for knobs in _alike(places):
        order_knobs(model, [places[number] for number in turns], knobs)
    answer = cpsat.solve(model, watch, confirm=True)
    read = answer.value
    if read is not None:
        return True, tuple(next(k for k, here in on.items() if read(here)) for on in places)
    return (False if answer.status is cpsat.Status.IMPOSSIBLE else None), None


def order_knobs(model: cp_model.CpModel, places: Places, knobs: Sequence[int]) -> None:
    """Let each of ``knobs``, alike for all of ``places``, be used only after the one before it.

    Args:
        model: what to add this to.
        places: the booleans, in any fixed order; those without these knobs are passed over.
        knobs: knobs that can be exchanged for each other without changing what is possible.
    """
    used: list[cp_model.IntVar | None] = [None] * len(knobs)  # by what came so far; None: never
    for on in places:
        if not knobs or knobs[0] not in on:
            continue
        # Below its number of predecessors a knob cannot be used yet, so the triangle fills slowly.
        for position in range(len(knobs) - 1, -1, -1):
            here = on[knobs[position]]
            earlier = used[position - 1] if position else None
            if position and earlier is None:
                model.add(here == 0)
                continue
            if earlier is not None:
                model.add_implication(here, earlier)
            so_far = used[position]
            if so_far is None:
                used[position] = here
            else:
                now = model.new_bool_var("")
                model.add_bool_or(~now, so_far, here)
                used[position] = now


def _alike(places: Places) -> list[list[int]]:
    """The knobs in classes: those of one class take the same pieces."""
    takes: dict[int, int] = {}
    for number, on in enumerate(places):
        for knob in on:
            takes[knob] = takes.get(knob, 0) | 1 << number
    classes: dict[int, list[int]] = {}
    for knob in sorted(takes):
        classes.setdefault(takes[knob], []).append(knob)
    return [knobs for knobs in classes.values() if len(knobs) > 1]


def _limit_load(model: cp_model.CpModel, pieces: Pieces, places: Places, most: int) -> None:
    for knob in bits(pieces.room(range(len(places)))):
        load = [
            piece.size * on[knob]
            for piece, on in zip(pieces.pieces, places, strict=True)
            if knob in on
        ]
        model.add(sum(load) <= most)


def _part_rivals(model: cp_model.CpModel, pieces: Pieces, places: Places) -> None:
    classes: dict[int, list[int]] = {}
    for number, rivals in enumerate(pieces.rivals):
        if rivals:
            classes.setdefault(rivals, []).append(number)
    claims = {}
    for numbers in classes.values():
        claims[numbers[0]] = _claim(model, [places[number] for number in numbers])
    claiming = sum(1 << number for number in claims)
    for clique in clique_cover({n: pieces.rivals[n] & claiming for n in claims}):
        for knob in sorted({knob for number in clique for knob in claims[number]}):
            claimed = [claims[number][knob] for number in clique if knob in claims[number]]
            if len(claimed) > 1:
                model.add_at_most_one(claimed)


def _claim(model: cp_model.CpModel, members: Places) -> dict[int, cp_model.IntVar]:
    """For each knob, whether any of ``members`` is on it."""
    if len(members) == 1:
        return members[0]
    claimed: dict[int, cp_model.IntVar] = {}
    for on in members:
        for knob, here in on.items():
            if knob not in claimed:
                claimed[knob] = model.new_bool_var("")
            model.add_implication(here, claimed[knob])
    return claimed
