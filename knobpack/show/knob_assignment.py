"""Knob assignment: which knob is which over a whole show, best in *change*, else in *layout*.

Where every song may be laid out anew, all that is between songs is the same whichever knob is
which. What each name keeps in its place adds up, so the names that keep most are an assignment. The
layout of all songs adds up too: what a knob carries through the show is one cluster of one problem,
and clusters are put on knobs as those of a single song are (:mod:`knobpack.solver.arrangement`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import attrs
import numpy as np

from knobpack.numbered.problem import Problem, bits
from knobpack.show.numbered import Numbered, Placed
from knobpack.solver.arrangement.arrange import best_arrangement
from knobpack.solver.arrangement.assignment import match
from knobpack.solver.arrangement.cluster import Places, Variant
from knobpack.solver.costs import FAR
from knobpack.solver.watch import Watch


def renamed(songs: Sequence[Numbered], laid: Mapping[int, Placed]) -> dict[int, Placed]:
    """A show with its knobs called so that the most is where it was; or as it is.

    Args:
        songs: its songs.
        laid: how each is laid out, by its position.
    """
    knobs = songs[0].problem.knobs
    stays, closed = np.zeros((knobs, knobs), np.int64), np.zeros((knobs, knobs), np.bool_)
    for at, song in enumerate(songs):
        on, previous = laid[at].knobs, song.asked.request.previous
        panel = {name: knob for knob, name in enumerate(song.asked.request.surface.knob_names)}
        was = {r.destination: panel[r.knob] for r in previous.routes} if previous else {}
        for item, knob in on.items():
            if song.names[item] in was:
                stays[knob, was[song.names[item]]] += 1
        for atom in song.problem.atoms:
            mask = atom.knobs if atom.pinned is None else 1 << atom.pinned
            shut = [knob for knob in range(knobs) if not mask >> knob & 1]
            for knob in {on[item] for item in bits(atom.items) if item in on}:
                closed[knob, shut] = True
    now = match(np.where(closed, FAR, stays.max() - stays)) if stays.any() else None
    return dict(laid) if now is None else _called(laid, dict(enumerate(map(int, now))))


def songs_arranged(
    songs: Sequence[Numbered], shows: Sequence[Mapping[int, Placed]], watch: Watch
) -> tuple[dict[int, Placed], int] | None:
    """The best of some shows, its knobs called so that all songs are laid out best.

    Args:
        songs: the songs.
        shows: ways to lay them out, that differ in nothing that counts before *layout*.
        watch: how long the search may go on.

    Returns:
        The best, and what none of them goes below in *layout*, whatever its knobs are called; None:
        knobs do not go round, or there was no time.
    """
    problem = _joined(song.problem for song in songs)
    places, every = Places.of(problem), [_carried(songs, laid) for laid in shows]
    variants = [Variant(tuple(map(places.cluster, sets.values())), 0) for sets in every]
    found = best_arrangement(problem, variants, watch)
    if found is None:
        return None
    now = {cluster.items: knob for knob, cluster in found.clusters.items()}
    pairs = zip(shows, every, strict=True)
    laid, sets = next(each for each in pairs if set(each[1].values()) == set(now))
    called = _called(laid, {knob: now[items] for knob, items in sets.items()})
    return called, found.bounds(places)[1]


def _carried(songs: Sequence[Numbered], laid: Mapping[int, Placed]) -> dict[int, int]:
    """For each knob the mask of what it carries, items of all songs in a row."""
    sets, first = dict[int, int](), 0
    for at, song in enumerate(songs):
        for item, knob in laid[at].knobs.items():
            sets[knob] = sets.get(knob, 0) | 1 << first + item
        first += song.problem.items
    return sets


def _called(laid: Mapping[int, Placed], now: Mapping[int, int]) -> dict[int, Placed]:
    """The same with each knob called anew."""
    return {
        at: attrs.evolve(placed, knobs={item: now[k] for item, k in placed.knobs.items()})
        for at, placed in laid.items()
    }


def _joined(problems: Iterable[Problem]) -> Problem:
    """What several problems ask of the places on one panel, as one problem of all their items."""
    every = list(problems)
    atoms, runs, sequence, first = [], [], [], 0
    for each in every:
        atoms += [attrs.evolve(atom, items=atom.items << first) for atom in each.atoms]
        runs += [(items << first, weight) for items, weight in each.runs]
        sequence += [(one + first, other + first) for one, other in each.sequence]
        first += each.items
    return attrs.evolve(
        every[0],
        items=first,
        atoms=tuple(atoms),
        places=tuple(place for each in every for place in each.places),
        pulls=tuple(pull for each in every for pull in each.pulls),
        runs=tuple(runs),
        sequence=tuple(sequence),
        before=(),
    )
