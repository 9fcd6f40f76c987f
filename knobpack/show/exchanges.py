"""Exchanges: knobs of single songs change places, by simulated annealing.

What shares a knob in a song stays together and the song is as good as it was in all that
does not depend on which knob is which. So nothing but *relearning* is looked at, in counts of songs
for each knob that a destination, role or kind is on: a move costs a few additions. Kirkpatrick,
Gelatt, Vecchi 1983, "Optimization by simulated annealing" (from memory).
"""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Mapping, Sequence

import attrs

from knobpack.numbered.problem import bits
from knobpack.show.asked import Key
from knobpack.show.numbered import Numbered, Placed
from knobpack.solver.watch import Watch

HOT, COLD = 4.0, 0.05
"""Temperatures at the ends, in points of an essential destination's."""

ROLE, KIND = 0.1, 0.01
"""What a role and a kind count here beside a point of a destination's."""

MOVES_FOR_EACH, SHARE = 1_000, 6
"""Moves for each song and knob, at most, and the part of the effort that they may take: a sixth."""

EFFORT_PER_MOVE = 1e-5
"""Effort that a move counts as: about what it takes in seconds."""

LOOK = 256
"""Moves between two looks at the watch."""


@attrs.define
class _Song:
    """One song whose knobs change places.

    Args:
        holds: what each knob carries: what is counted, with what that counts.
        open_to: for each knob, the mask of those that all it carries may be on.
        now: which of its knobs, as they were, is where.
    """

    holds: list[tuple[tuple[object, float], ...]]
    open_to: list[int]
    now: list[int]

    def exchange(self, one: int, other: int) -> None:
        """Let what two knobs carry change places."""
        holds, open_to, now = self.holds, self.open_to, self.now
        holds[one], holds[other] = holds[other], holds[one]
        open_to[one], open_to[other] = open_to[other], open_to[one]
        now[one], now[other] = now[other], now[one]


def exchanged(
    songs: Sequence[Numbered],
    laid: Mapping[int, Placed],
    free: Sequence[int],
    weights: Mapping[Key, int],
    watch: Watch,
) -> dict[int, Placed]:
    """A show with knobs of its songs exchanged, so that less is to be relearned; or as it was.

    Args:
        songs: its songs.
        laid: how each is laid out.
        free: the positions of those that may be laid out anew.
        weights: what each destination of the show counts.
        watch: how long the search may go on.
    """
    counted = {at: _song(songs[at], laid[at], weights) for at in range(len(songs))}
    on: Counter[tuple[object, int]] = Counter()
    for song in counted.values():
        for knob, held in enumerate(song.holds):
            on.update((what, knob) for what, _ in held)
    draw, knobs = random.Random(0), songs[0].problem.knobs  # noqa: S311 - no secret
    moves = MOVES_FOR_EACH * len(free) * knobs
    moves = min(moves, int(watch.effort / SHARE / EFFORT_PER_MOVE))
    value, best, names = 0.0, 0.0, {at: list(counted[at].now) for at in free}
    for move in range(moves):
        if not move % LOOK:
            watch.spend(EFFORT_PER_MOVE * LOOK)
            if watch.over():
                break
        song, one, other = counted[draw.choice(free)], draw.randrange(knobs), draw.randrange(knobs)
        if one == other or not (song.open_to[one] >> other & song.open_to[other] >> one & 1):
            continue
        cost = _moved(on, song.holds[one], one, other) + _moved(on, song.holds[other], other, one)
        heat = HOT * (COLD / HOT) ** (move / moves)
        if cost > 0 and draw.random() >= math.exp(-cost / heat):
            _moved(on, song.holds[one], other, one)
            _moved(on, song.holds[other], one, other)
            continue
        song.exchange(one, other)
        value += cost
        if value < best - 1e-9:
            best, names = value, {at: list(counted[at].now) for at in free}
    return {at: _renamed(placed, names.get(at)) for at, placed in laid.items()}


def _song(song: Numbered, placed: Placed, weights: Mapping[Key, int]) -> _Song:
    """What is counted of a song on each of its knobs, and where that may be."""
    every = (1 << song.problem.knobs) - 1
    open_to = [every] * song.problem.knobs
    for atom in song.problem.atoms:
        mask = atom.knobs if atom.pinned is None else 1 << atom.pinned
        for item in bits(atom.items):
            if item in placed.knobs:
                open_to[placed.knobs[item]] &= mask
    holds: list[dict[object, float]] = [{} for _ in open_to]
    for key, item in song.item_of.items():
        if item in placed.knobs:
            holds[placed.knobs[item]][key] = float(weights[key])
            holds[placed.knobs[item]][key[0]] = ROLE
    for kind, items in song.kinds.items():
        for item in bits(items):
            if item in placed.knobs:
                holds[placed.knobs[item]]["kind", "of", kind] = KIND
    return _Song([tuple(each.items()) for each in holds], open_to, list(range(song.problem.knobs)))


def _moved(
    on: Counter[tuple[object, int]],
    held: tuple[tuple[object, float], ...],
    here: int,
    there: int,
) -> float:
    """What it costs that all this goes from one knob of a song to another."""
    cost = 0.0
    for what, points in held:
        on[what, here] -= 1
        if not on[what, here]:
            cost -= points
        if not on[what, there]:
            cost += points
        on[what, there] += 1
    return cost


def _renamed(placed: Placed, name: list[int] | None) -> Placed:
    """A song with its knobs exchanged; ``name`` says which of them is where now."""
    if name is None:
        return placed
    now = {was: knob for knob, was in enumerate(name)}
    return attrs.evolve(placed, knobs={item: now[knob] for item, knob in placed.knobs.items()})
