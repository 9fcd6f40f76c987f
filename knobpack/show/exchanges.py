"""Exchanges: what knobs carry in single songs, or all that have one thing there, changes places.

Simulated annealing by whole knobs and by single atoms. In each song as much is joined as may be,
and nothing but *relearning* is looked at, in counts of atoms for each knob that a destination, role
or kind is on: a move costs a few additions. A destination that is to be elsewhere throughout has to
be moved in every song in which it is on that knob, at one go: single moves would each cost
something first. Kirkpatrick, Gelatt, Vecchi 1983, "Optimization by simulated annealing" (from
memory); a move of one thing through all periods is the template of consistent routing (Groër,
Golden, Wasil 2009).
"""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import TypeAlias

import attrs

from knobpack.numbered.problem import bits
from knobpack.show.asked import Key
from knobpack.show.numbered import Numbered, Placed
from knobpack.solver.watch import Watch
from knobpack.words import Travel

HOT, COLD = 0.7, 0.1
"""Temperatures at the ends, in points of an essential destination's."""

ROLE, KIND = 0.1, 0.01
"""What a role and a kind count here beside a point of a destination's."""

THROUGHOUT, SINGLE = 0.2, 0.5
"""The share of moves that are of all songs with one thing; and of moves in a song, of an atom."""

MOVES_FOR_EACH, SHARE = 2_000, 4
"""Moves for each song and knob, at most, and the part of the effort they may take: a fourth."""

EFFORT_PER_MOVE = 1.5e-5
"""Effort that a move in one song counts as: about what it takes in seconds."""

LOOK = 256
"""Moves between two looks at the watch."""

_Held: TypeAlias = tuple[tuple[object, float], ...]
_Step: TypeAlias = tuple["_Song", int, int]
"""An atom of a song that goes to a knob: the song, the atom, and the knob."""


@attrs.define
class _Song:
    """One song while its atoms change places.

    Args:
        holds: for each atom, what is counted of it, with what that counts.
        open_to: for each atom, the mask of the knobs that it may be on.
        apart: for each atom, the mask of those that it may not come to share a knob with.
        sizes: how many items each is.
        per_knob: how many items a knob may carry.
        fewest: how many knobs have to carry something.
        atom_of: the atom that each destination of the show is part of.
        on: for each knob, the mask of the atoms on it.
        at: the knob of each atom that is placed.
    """

    holds: list[_Held]
    open_to: list[int]
    apart: list[int]
    sizes: list[int]
    per_knob: int
    fewest: int
    atom_of: dict[Key, int]
    on: list[int]
    at: dict[int, int]

    @classmethod
    def of(cls, song: Numbered, placed: Placed, weights: Mapping[Key, int]) -> _Song:
        """A song as it is laid out."""
        problem = song.problem
        atom_of = {item: n for n, atom in enumerate(problem.atoms) for item in bits(atom.items)}
        holds: list[dict[object, float]] = [{} for _ in problem.atoms]
        for key, item in song.item_of.items():
            holds[atom_of[item]][key] = float(weights[key])
            holds[atom_of[item]][key[0]] = ROLE
        for kind, items in song.kinds.items():
            for item in bits(items):
                holds[atom_of[item]]["kind", "of", kind] = KIND
        at = {atom_of[item]: knob for item, knob in placed.knobs.items()}
        on = [0] * problem.knobs
        for number, knob in at.items():
            on[knob] |= 1 << number
        every = (1 << len(problem.atoms)) - 1
        loads = [load for load in song.loads if any(item in placed.knobs for item in bits(load))]
        return cls(
            [tuple(each.items()) for each in holds],
            [a.knobs if a.pinned is None else 1 << a.pinned for a in problem.atoms],
            [c if _movable(song, n) else every for n, c in enumerate(problem.clashes)],
            [atom.size for atom in problem.atoms],
            problem.per_knob,
            len(loads) - song.most_joined,
            {key: atom_of[item] for key, item in song.item_of.items() if item in placed.knobs},
            on,
            at,
        )

    def whole(self, one: int, other: int) -> list[_Step]:
        """All that two knobs carry changes places; nothing where it may not."""
        steps = [(self, atom, other) for atom in bits(self.on[one])]
        steps += [(self, atom, one) for atom in bits(self.on[other])]
        return steps if all(self.open_to[atom] >> knob & 1 for _, atom, knob in steps) else []

    def single(self, atom: int, other: int) -> list[_Step]:
        """An atom goes to another knob, and what must not be there with it comes back.

        Nothing does where that may not be, or is more than one atom.
        """
        one = self.at[atom]
        back = self.apart[atom] & self.on[other]
        steps = [(self, atom, other), *((self, each, one) for each in bits(back))]
        here, there = self.on[one] & ~(1 << atom), self.on[other] & ~back
        may = (
            not back & back - 1
            and all(self.open_to[each] >> knob & 1 for _, each, knob in steps)
            and not any(self.apart[each] & here for each in bits(back))
            and not any(self.apart[each] >> atom & 1 for each in bits(there))
            and (back or here or not there or self.used > self.fewest)
            and all(self._fits(mask) for mask in (here | back, there | 1 << atom))
        )
        return steps if may else []

    def _fits(self, atoms: int) -> bool:
        """Whether a knob may carry as many items."""
        return sum(self.sizes[each] for each in bits(atoms)) <= self.per_knob

    @property
    def used(self) -> int:
        """How many knobs carry something."""
        return sum(map(bool, self.on))

    def placed(self, song: Numbered, at: Mapping[int, int]) -> Placed:
        """The song with its atoms on such knobs, each knob over the travel that suits it best."""
        problem, request = song.problem, song.asked.request
        knobs = {item: knob for n, knob in at.items() for item in bits(problem.atoms[n].items)}
        goes: dict[int, Travel] = {}
        for knob in set(knobs.values()):
            here = [item for item, its in knobs.items() if its == knob]
            prices = problem.travel_prices
            travel = min(
                {problem.wanted[item] for item in here},
                key=lambda each: (sum(prices[each][item] for item in here), each),
            )
            chosen = song.travels[problem.kept_travels.get(knob, travel)]
            goes |= {item: request.driven(song.names[item]) or chosen for item in here}
        return Placed(knobs, goes)


def _movable(song: Numbered, number: int) -> bool:
    """Whether an atom may come to share with others: nothing before *relearning* depends on it."""
    problem = song.problem
    atom = problem.atoms[number]
    if problem.in_use or problem.breakable or problem.one_empty or problem.spreads:
        return False
    whole = all(load & atom.items in (0, load) for load in song.loads)
    return whole and (atom.needed or atom.omission > 0)


def exchanged(
    songs: Sequence[Numbered],
    laid: Mapping[int, Placed],
    free: Sequence[int],
    weights: Mapping[Key, int],
    watch: Watch,
) -> dict[int, Placed]:
    """A show with places in its songs exchanged, so that less is to be relearned; or as it was.

    Args:
        songs: its songs.
        laid: how each is laid out.
        free: the positions of those that may be laid out anew.
        weights: what each destination of the show counts.
        watch: how long the search may go on.
    """
    counted = {at: _Song.of(songs[at], laid[at], weights) for at in range(len(songs))}
    on: Counter[tuple[object, int]] = Counter()
    for song in counted.values():
        for number, knob in song.at.items():
            on.update((what, knob) for what, _ in song.holds[number])
    draw, knobs = random.Random(0), songs[0].problem.knobs  # noqa: S311 - no secret
    some = [counted[at] for at in free]
    keys = [key for key, weight in weights.items() if weight]
    moves = min(MOVES_FOR_EACH * len(free) * knobs, int(watch.effort / SHARE / EFFORT_PER_MOVE))
    value, best, kept = 0.0, -1e-9, dict[int, dict[int, int]]()
    done, looked = 0, -LOOK
    while done < moves:
        if done >= looked + LOOK:
            watch.spend(EFFORT_PER_MOVE * (done - max(0, looked)))
            looked = done
            if watch.over():
                break
        one, other = draw.randrange(knobs), draw.randrange(knobs)
        if one == other:
            done += 1
            continue
        if keys and draw.random() < THROUGHOUT:
            steps = _throughout(some, draw.choice(keys), other, draw)
        else:
            steps = _in_song(draw.choice(some), one, other, draw)
        done += max(1, len(steps) // 2)
        undo = [(song, atom, song.at[atom]) for song, atom, _ in steps]
        cost = _made(on, steps)
        heat = HOT * (COLD / HOT) ** (done / moves)
        if cost > 0 and draw.random() >= math.exp(-cost / heat):
            _made(on, undo)
            continue
        value += cost
        if value < best:
            best, kept = value - 1e-9, {at: dict(counted[at].at) for at in free}
    return {
        at: counted[at].placed(songs[at], kept[at]) if at in kept else placed
        for at, placed in laid.items()
    }


def _in_song(song: _Song, one: int, other: int, draw: random.Random) -> list[_Step]:
    """A move in one song: of one knob's atoms, or of whole knobs."""
    here = song.on[one]
    if not here & here - 1 or draw.random() >= SINGLE:
        return song.whole(one, other)
    return song.single(draw.choice(list(bits(here))), other)


def _throughout(songs: Iterable[_Song], key: Key, other: int, draw: random.Random) -> list[_Step]:
    """One thing goes from one of its knobs to another in all songs in which it is there and may.

    It goes alone, or with all that is there in exchange for what is on the other.
    """
    there = [(song, atom) for song in songs if (atom := song.atom_of.get(key)) is not None]
    knobs = [song.at[atom] for song, atom in there]
    one = draw.choice(knobs) if knobs else other
    if one == other:
        return []
    alone = draw.random() < SINGLE
    steps: list[_Step] = []
    for (song, atom), knob in zip(there, knobs, strict=True):
        if knob == one:
            steps += (alone and song.single(atom, other)) or song.whole(one, other)
    return steps


def _made(on: Counter[tuple[object, int]], steps: Iterable[_Step]) -> float:
    """Take these steps; says what they cost."""
    cost = 0.0
    for song, atom, there in steps:
        here = song.at[atom]
        song.at[atom] = there
        song.on[here] &= ~(1 << atom)
        song.on[there] |= 1 << atom
        for what, points in song.holds[atom]:
            on[what, here] -= 1
            if not on[what, here]:
                cost -= points
            if not on[what, there]:
                cost += points
            on[what, there] += 1
    return cost
