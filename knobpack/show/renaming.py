"""Renaming: which knob is which over a whole show, so that the most stays on its knob.

Where every song may be laid out anew, all that is between songs is the same whichever knob is
which. What each name keeps in its place adds up, so the best names are an assignment.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import attrs
import numpy as np

from knobpack.numbered.problem import bits
from knobpack.show.numbered import Numbered, Placed
from knobpack.solver.arrangement.assignment import match
from knobpack.solver.costs import FAR


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
    if now is None:
        return dict(laid)
    return {
        at: attrs.evolve(placed, knobs={item: int(now[k]) for item, k in placed.knobs.items()})
        for at, placed in laid.items()
    }
