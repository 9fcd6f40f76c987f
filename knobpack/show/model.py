"""One model of several songs: each a compact model, and between them what the show costs.

Songs that are not to be laid out now stand in it as they are, so that the same model lays out a
whole show, one song between the others, or a few songs in a row. Knobs are told apart from the
start; where no song tells them apart, the atoms of one song come in their order (value precedence:
Y. C. Law, J. H. M. Lee, CP 2004), which leaves one of all ways to name the knobs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import count, pairwise
from math import comb
from types import MappingProxyType
from typing import TypeAlias, cast

import attrs

from knobpack.numbered.problem import Problem, bits
from knobpack.show.asked import Key
from knobpack.show.neighbourhoods import OpenTo
from knobpack.show.numbered import Numbered, Placed
from knobpack.solver.cp_sat import cp_model
from knobpack.solver.cp_sat.atoms_on_knobs import Bool, Linear, summed
from knobpack.solver.cp_sat.compact_model import CompactModel
from knobpack.solver.cp_sat.cpsat import Answer, hint, solve
from knobpack.solver.watch import Watch

ANYWHERE: OpenTo = MappingProxyType({})

_A_HINT = 1.0
"""The effort for finding out what follows from a layout."""

Literal: TypeAlias = cp_model.IntVar | bool
"""A variable that is 0 or 1, or what it is known to be."""


class ShowModel:
    """The model of some songs of a show, the others as they are.

    Args:
        songs: all songs, in playing order.
        as_they_are: the position of each song that is not to be laid out, and how it stays.
        neighbours: the positions of each two songs that follow each other.
        weights: what each destination of the show counts.
        open_to: for songs that are laid out, the mask of the knobs that each of their atoms may be
            on now; of those that are not named here each may be wherever it may be at all.
    """

    def __init__(
        self,
        songs: Sequence[Numbered],
        as_they_are: Mapping[int, Placed],
        neighbours: Iterable[tuple[int, int]],
        weights: Mapping[Key, int],
        open_to: OpenTo = ANYWHERE,
    ) -> None:
        self.songs, self.as_they_are, self.weights = songs, as_they_are, weights
        self.there = range(len(songs))
        self.neighbours = tuple(neighbours)
        self.knobs = songs[0].problem.knobs
        self.cp = cp_model.CpModel()
        self.blocks = {
            at: CompactModel(_narrowed(songs[at].problem, open_to.get(at)), self.cp)
            for at in self.there
            if at not in as_they_are
        }
        for at, block in self.blocks.items():
            self._as_good_as_alone(songs[at], block)

    def _as_good_as_alone(self, song: Numbered, block: CompactModel) -> None:
        for tier, value in song.held.items():
            block.hold(tier, value)
        loads = [block.touched(load) for load in song.loads]
        dear = block.touched(song.essential)
        every, beside = list[Linear](), list[Linear]()
        for knob, used in block.used.items():
            here = [touched for load in loads if (touched := load[knob]) is not None]
            every.append(more := summed([*((each, 1) for each in here), (used, -1)]))
            carries = dear[knob]
            if carries is None or len(here) < 2:
                continue
            most = next(n for n in count(len(here), -1) if comb(n, 2) <= song.most_joined[1])
            if most < len(here):
                self.cp.add(more < most).only_enforce_if(carries)
            pairs = self.cp.new_int_var(0, comb(most, 2), "")
            for at in range(1, most):  # the tangents of as many pairs as there are
                self.cp.add(pairs >= at * (more + 1) - comb(at + 1, 2)).only_enforce_if(carries)
            beside.append(pairs)
        for joined, most in zip((every, beside), song.most_joined, strict=True):
            self.cp.add(sum(joined) <= most)

    # What is made best --------------------------------------------------------------------------

    def best(
        self, cost: Linear, watch: Watch, *, effort: float, tidy: bool = False, linear: bool = True
    ) -> Answer:
        """Make a cost least.

        Args:
            cost: the cost.
            watch: how long the search may go on.
            effort: how much of it this may take.
            tidy: whether it does not matter which knob is which.
            linear: whether more is to be proven, and found later.
        """
        self.cp.minimize(cost)
        model = self.cp
        if tidy and self._knobs_alike:
            model = model.clone()
            _precede(model, self._anchor)
        return solve(model, watch, effort=effort, linear=linear)

    def tidied(self, placed: Mapping[int, Placed]) -> dict[int, Placed]:
        """The same with its knobs named as the search names them, where it does."""
        if not self._knobs_alike:
            return dict(placed)
        anchor = self._anchor
        on = next(placed[at].knobs for at, block in self.blocks.items() if block is anchor)
        atoms = (anchor.problem.atoms[number].items for number in _in_turn(anchor))
        met = [on[item] for items in atoms for item in bits(items) if item in on]
        open_to = sorted({knob for _, knob in anchor.on})
        name = dict(zip(dict.fromkeys([*met, *open_to]), open_to, strict=True))
        return {
            at: attrs.evolve(each, knobs={item: name[knob] for item, knob in each.knobs.items()})
            for at, each in placed.items()
        }

    def hint_at(self, placed: Mapping[int, Placed]) -> None:
        """Hint at how songs are laid out, not at what follows from it."""
        chosen = list(self._chosen(placed))
        hint(self.cp, (variable for variable, _ in chosen), (int(value) for _, value in chosen))

    def start_from(self, placed: Mapping[int, Placed], cost: Linear, watch: Watch) -> None:
        """Hint at how songs are laid out, and at all that follows from it.

        A hint that leaves out what follows is rarely made whole by the search. So that is solved
        for first, which takes next to nothing.
        """
        self.cp.minimize(cost)
        chosen = list(self._chosen(placed))
        fixed = self.cp.clone()
        for variable, value in chosen:
            fixed.add(variable == int(value))
        answer = solve(fixed, watch, effort=_A_HINT)
        proto = self.cp.model_proto
        proto.clear_solution_hint()
        proto.solution_hint.vars.extend(range(len(answer.solution)))
        proto.solution_hint.values.extend(answer.solution)

    def _chosen(self, placed: Mapping[int, Placed]) -> Iterator[tuple[Bool, bool]]:
        """Where each atom is and over which travel each knob goes in such a layout."""
        for at, block in self.blocks.items():
            on = {block.problem.atom_of[item]: knob for item, knob in placed[at].knobs.items()}
            goes = {knob: placed[at].goes[item] for item, knob in placed[at].knobs.items()}
            yield from ((v, on.get(number) == knob) for (number, knob), v in block.on.items())
            yield from ((v, number not in on) for number, v in block.out.items())
            travels = self.songs[at].travels
            for knob, chosen in block.travels.items():
                yield from ((v, goes.get(knob) == travels[each]) for each, v in chosen.items())

    def placed(self, answer: Answer) -> dict[int, Placed]:
        """How the songs are laid out in what was found."""
        if answer.value is None:
            return {}
        return {at: self._placed(at, answer.value) for at in self.blocks}

    def _placed(self, at: int, value: Callable[[Linear], int]) -> Placed:
        song, block = self.songs[at], self.blocks[at]
        on = [place for place, here in block.on.items() if value(here)]
        knobs = {i: knob for number, knob in on for i in bits(block.problem.atoms[number].items)}
        chosen = dict(song.problem.kept_travels)
        for knob, travels in block.travels.items():
            chosen.update((knob, each) for each, here in travels.items() if value(here))
        request = song.asked.request
        return Placed(
            knobs,
            {
                item: request.driven(song.names[item]) or song.travels[chosen[knob]]
                for item, knob in knobs.items()
            },
        )

    def of_songs(self, tier: str) -> Linear:
        """The value of a tier that is that of the songs, those left out that stay as they are."""
        cost = Linear.constant(0)
        for block in self.blocks.values():
            cost = cost + block.cost(tier)
        return cost

    @property
    def parts(self) -> int:
        """How many variables and constraints there are."""
        proto = self.cp.model_proto
        return len(proto.constraints) + len(proto.variables)

    # Where things are ---------------------------------------------------------------------------

    def on(self, at: int, item: int, knob: int) -> Literal:
        """Whether a song has an item on a knob."""
        if at in self.as_they_are:
            return self.as_they_are[at].knobs.get(item) == knob
        block = self.blocks[at]
        return block.on.get((block.problem.atom_of[item], knob), False)

    def out(self, at: int, item: int) -> Literal:
        """Whether a song leaves an item out."""
        if at in self.as_they_are:
            return item not in self.as_they_are[at].knobs
        block = self.blocks[at]
        return block.out.get(block.problem.atom_of[item], False)

    def touched(self, at: int, items: int) -> list[Literal]:
        """For each knob, whether it carries some of these items in a song."""
        if at in self.as_they_are:
            on = self.as_they_are[at].knobs
            here = {on[item] for item in bits(items) if item in on}
            return [knob in here for knob in range(self.knobs)]
        touched = self.blocks[at].touched(items)
        return [False if here is None else here for here in touched]

    def clause(self, *literals: Literal) -> None:
        """At least one of these holds."""
        if not any(each is True for each in literals):
            self.cp.add_bool_or([each for each in literals if each is not False])

    def any_of(self, literals: Iterable[Literal]) -> Literal:
        """What is 1 at least where one of these is."""
        some = [each for each in literals if each is not False]
        if any(each is True for each in some):
            return True
        if len(some) < 2:
            return some[0] if some else False
        found = self.cp.new_bool_var("")
        for each in some:
            self.clause(negated(each), found)
        return found

    # Knobs that are alike -----------------------------------------------------------------------

    @cached_property
    def _knobs_alike(self) -> bool:
        """Whether any two knobs that anything may be on can be exchanged throughout."""
        if self.as_they_are:
            return False
        problems = [self.songs[at].problem for at in self.there]
        open_to = {atom.knobs for problem in problems for atom in problem.atoms if atom.knobs}
        return len(open_to) < 2 and not any(
            problem.pinned_knobs or problem.kept_travels or problem.travels_there
            for problem in problems
        )

    @cached_property
    def _anchor(self) -> CompactModel:
        """The song by which knobs are named: that with the most atoms."""
        return max(self.blocks.values(), key=lambda block: len(block.problem.atoms))


def _narrowed(problem: Problem, open_to: Sequence[int] | None) -> Problem:
    """The same problem, its atoms on these knobs only."""
    if open_to is None:
        return problem
    pairs = zip(problem.atoms, open_to, strict=True)
    atoms = tuple(attrs.evolve(atom, knobs=mask) for atom, mask in pairs)
    return attrs.evolve(problem, atoms=atoms)


def _in_turn(block: CompactModel) -> list[int]:
    """The atoms of a song in the order in which they name the knobs, clashing ones first."""
    clashes = block.problem.clashes
    return sorted(range(len(clashes)), key=lambda number: -clashes[number].bit_count())


def _precede(model: cp_model.CpModel, block: CompactModel) -> None:
    """Let the first atoms of a song name the knobs: none is on a knob before one is on the last."""
    open_to, numbers = sorted({knob for _, knob in block.on}), _in_turn(block)
    for place, number in enumerate(numbers):
        for last, knob in pairwise(open_to):
            if (number, knob) in block.on:
                sooner = [(each, last) for each in numbers[:place] if (each, last) in block.on]
                model.add_bool_or([~block.on[number, knob], *(block.on[each] for each in sooner)])


def negated(literal: Literal) -> Literal:
    """What is 1 where this is 0."""
    return not literal if isinstance(literal, bool) else cast("cp_model.IntVar", ~literal)
