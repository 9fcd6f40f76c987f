"""Mending: a path that passes some pieces too often and others never, made into an arrangement."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from knobpack.solver.blocks import NOWHERE
from knobpack.solver.costs import FAR
from knobpack.solver.matching import match
from knobpack.solver.panel import Panel


def mended(panel: Panel, path: Sequence[int]) -> tuple[int, ...] | None:
    """An arrangement that agrees with a path as far as the path is one.

    What is passed for a second time is taken off; what is missing goes where it is cheapest beside
    what is left.

    Args:
        panel: what is arranged.
        path: the node on each knob.

    Returns:
        The node on each knob; None if what is missing may not be where there is room.
    """
    kept = _kept(panel, path)
    missing = _missing(panel, kept)
    room = np.array([knob for knob, node in enumerate(kept) if node == NOWHERE], dtype=np.int64)
    if not len(room):
        return tuple(kept)
    lost = np.array(missing, dtype=np.int64)
    costs = panel.costs[room][:, lost].T.copy()
    for column, knob in enumerate(room.tolist()):
        before = kept[knob - 1] if knob and panel.beside[knob] else NOWHERE
        costs[:, column] += panel.alone[lost] if before == NOWHERE else panel.begins[before, lost]
        after = kept[knob + 1] if knob + 1 < panel.knobs and panel.beside[knob + 1] else NOWHERE
        if after != NOWHERE:
            costs[:, column] += panel.begins[lost, after]
    places = match(np.minimum(costs, FAR))
    if places is None:
        return None
    for node, place in zip(missing, places.tolist(), strict=True):
        kept[int(room[place])] = node
    return tuple(kept)


def _kept(panel: Panel, path: Sequence[int]) -> list[int]:
    """The path without what cannot be placed beside what comes before it."""
    sets = [0] * (int(panel.block[-1]) + 1)
    holes = panel.holes
    kept = []
    for node in path:
        at = int(panel.block[node])
        joined = int(panel.joined[node, sets[at]])
        if node == panel.pieces:
            joined, holes = (joined if holes else NOWHERE), holes - 1
        if joined != NOWHERE:
            sets[at] = joined
        kept.append(node if joined != NOWHERE else NOWHERE)
    return kept


def _missing(panel: Panel, kept: Sequence[int]) -> list[int]:
    """The nodes that make what is kept complete, holes among them."""
    there = set(kept)
    missing = []
    for ways in panel.ways:
        own = {node for way in ways for node in way} & there
        way = next(way for way in ways if own.issubset(way))
        missing += [node for node in way if node not in own]
    return missing + [panel.pieces] * (panel.holes - list(kept).count(panel.pieces))
