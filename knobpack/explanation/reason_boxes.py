"""Reason boxes: what a drawing of a graph of reasons shows, in three columns.

The answer, what else there could be, and what speaks against that. What is closed for the same
cause is one box, and so is a cause of several. The last column is ordered by the mean place of what
leads to each box, so that few lines cross (the barycentre heuristic of K. Sugiyama, S. Tagawa and
M. Toda, 1981; cited from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from typing import TYPE_CHECKING

import attrs

from knobpack.definition.phrases import many, points_changed
from knobpack.definition.prices import TIERS
from knobpack.reasons.facts import ON, USED, by_cause
from knobpack.reasons.graph import NODES
from knobpack.text.columns import wrapped
from knobpack.words.names import knob_told, knobs_told

if TYPE_CHECKING:
    import networkx as nx

    MultiDiGraph = nx.MultiDiGraph[str]

MOST_BOXES = 7
"""Boxes of one column, at most; of the others one box says how many there are."""

_CALLED = {
    "best": "the best layout with it there",
    "next_best": "the best layout that parts them",
    "placing": "the best layout with it placed",
    "more": "one knob more",
    "fewer": "one knob fewer",
    "witness": "no knob can be free",
}
"""What parts are called that have no name of their own, by the field that holds them."""

_HEADLINES = {
    "price of demands": "what was asked, and what the best layout without it costs",
    "explain": "the layout, and what each answer about it rests on",
    "clash": "no layout meets every demand",
}
"""What stands in the first box of answers that hold several; of all others, what they say first."""

_OWN = frozenset({"obstacle", "comparison", "fact", "clash", "demand", "term change"})
"""Sorts of part that speak of the answer itself: no other choice stands between."""

_NO_CAUSES = frozenset({"before", "after", "moved", "ways_out", "terms", "now", "fewer", "demand"})
"""Fields of a part that do not hold what speaks for what it says."""


_WIDE, _BETWEEN, _LINE, _GAP, _EDGE = 224, 40, 16, 10, 8
"""Pixels: a box, between columns, a line, between boxes, and around the text in a box."""

_LETTERS = 32
"""Columns of letters that a line of a box takes."""

MOST_LINES = 5
"""Lines of a box, at most; what does not fit is cut."""


@attrs.frozen
class Branch:
    """Other choices, and what speaks against them.

    Args:
        choice: what they are called; empty: the causes speak of the answer itself.
        causes: what speaks against each of them, in words.
        closed: whether they are forbidden; else they have a price.
    """

    choice: str
    causes: tuple[str, ...]
    closed: bool


@attrs.frozen
class Box:
    """One box of the drawing.

    Args:
        column: 0 the answer, 1 other choices, 2 causes.
        text: what stands in it; empty: it is no box, but room for lines from the answer to causes
            of its own, which no other choice is to hide.
        closed: whether it is about what is forbidden.
    """

    column: int
    text: str
    closed: bool = False


@attrs.frozen
class Boxes:
    """What a drawing shows.

    Args:
        boxes: the boxes, column by column, each column from the top.
        lines: pairs of places in ``boxes``: which lead to which.
    """

    boxes: tuple[Box, ...]
    lines: tuple[tuple[int, int], ...]


def branches(graph: MultiDiGraph) -> tuple[Branch, ...]:
    """What else there could be, and what speaks against it, the same choices in one.

    Args:
        graph: the graph of reasons of an answer.

    Returns:
        First what has a price, in the order of the answer, then what is closed, by its cause.
    """
    found: list[Branch] = []
    priced: dict[tuple[str, ...], list[tuple[str, str]]] = {}
    closing: dict[str, list[str]] = {}
    own: list[str] = []
    root = graph.graph["answer"]
    for field, name in _parts(graph, root):
        of = graph.nodes[name]
        if of["word"] == "why not" and (causes := _obstacles(graph, name)):
            (knob,) = (graph.nodes[to]["name"] for to in _held(graph, name, "knob"))
            closing[knob] = causes
        elif of["word"] in _OWN:
            own += _causes(graph, name)
        elif of["word"] == "set":
            found.append(Branch(f"one knob for {of['name']}", (), closed=False))
        elif causes := [*dict.fromkeys(_causes(graph, name))]:
            priced.setdefault((of["word"], *causes), []).append((field, name))
    found += [
        Branch(choice, tuple(causes), closed=False)
        for (word, *causes), parts in priced.items()
        for choice in _choices(graph, word, parts)
    ]
    closed = [
        Branch(f"on {knobs_told(knobs)}", (cause,), closed=True)
        for cause, knobs in by_cause(closing).items()
    ]
    forbidden = bool(_obstacles(graph, root))
    alone = "it alone goes there, all else stays" if graph.nodes[root]["word"] == "why not" else ""
    first = [Branch(alone, tuple(dict.fromkeys(own)), forbidden)] if own else []
    return (*first, *found, *closed)


def reason_boxes(graph: MultiDiGraph) -> Boxes:
    """The boxes and lines of a drawing of a graph of reasons.

    Args:
        graph: the graph of an answer.

    Returns:
        At most :data:`MOST_BOXES` in a column.
    """
    root = Box(0, _headline(graph))
    told = branches(graph)
    shown = told if len(told) <= MOST_BOXES else told[: MOST_BOXES - 1]
    choices: list[Box] = []
    places: dict[str, list[int]] = {}
    closing: set[str] = set()
    for branch in shown:
        if branch.choice or len(told) > 1:
            choices.append(Box(1, branch.choice, branch.closed))
        for cause in branch.causes[:MOST_BOXES]:
            places.setdefault(cause, []).append(len(choices))
        closing.update(branch.causes if branch.closed else ())
    if len(told) > len(shown):
        choices.append(Box(1, _not_drawn(len(told) - len(shown), "choice")))
    ordered = sorted(places, key=lambda cause: sum(places[cause]) / len(places[cause]))
    kept = ordered if len(ordered) <= MOST_BOXES else ordered[: MOST_BOXES - 1]
    causes = [Box(2, cause, cause in closing) for cause in kept]
    if len(ordered) > len(kept):
        causes.append(Box(2, _not_drawn(len(ordered) - len(kept), "reason")))
    first = 1 + len(choices)
    lines = [(0, place) for place in range(1, first)]
    for number, cause in enumerate(ordered):
        to = first + min(number, len(causes) - 1)
        lines += [(place, to) for place in places[cause]]
    return Boxes((root, *choices, *causes), tuple(dict.fromkeys(lines)))


def _not_drawn(left: int, what: str) -> str:
    return f"{many(left, f'other {what}')} {'is' if left == 1 else 'are'} not drawn"


def tops(boxes: Boxes, heights: Sequence[float], gap: float) -> tuple[list[float], float]:
    """Where each box begins, counted down, each column in the middle of the drawing.

    Args:
        boxes: the boxes.
        heights: how high each of them is, in any unit.
        gap: how far apart they are, one above the other.

    Returns:
        The top of each box, and how high the drawing is.
    """
    columns = [[at for at, box in enumerate(boxes.boxes) if box.column == c] for c in range(3)]
    sizes = [sum(heights[at] + gap for at in column) - gap for column in columns]
    high, found = max(sizes), [0.0] * len(boxes.boxes)
    for column, size in zip(columns, sizes, strict=True):
        y = (high - size) / 2
        for at in column:
            found[at] = y
            y += heights[at] + gap
    return found, high


def reason_picture(boxes: Boxes) -> Iterator[str]:
    """What an answer rests on as SVG, line by line; what it says stands beside it in words.

    Args:
        boxes: what is to be drawn.
    """
    texts = [_lines(box.text) for box in boxes.boxes]
    heights = [len(lines) * _LINE + 2 * _EDGE for lines in texts]
    top, high = tops(boxes, heights, _GAP)
    columns = 1 + max(box.column for box in boxes.boxes)
    wide = columns * _WIDE + (columns - 1) * _BETWEEN + 2
    size = f'width="{wide}" height="{high + 2:.0f}" viewBox="0 0 {wide} {high + 2:.0f}"'
    yield f'<svg class="reasons" role="img" aria-label="What it rests on, drawn" {size}>'
    for one, other in boxes.lines:
        left = boxes.boxes[one].column * (_WIDE + _BETWEEN) + _WIDE + 1
        right = boxes.boxes[other].column * (_WIDE + _BETWEEN) + 1
        y, to = (top[at] + heights[at] / 2 + 1 for at in (one, other))
        yield f'<path d="M {left} {y:.1f} L {right} {to:.1f}"/>'
    for box, lines, height, y in zip(boxes.boxes, texts, heights, top, strict=True):
        x = box.column * (_WIDE + _BETWEEN) + 1
        if not box.text:
            yield f'<path d="M {x} {y + height / 2 + 1:.1f} h {_WIDE}"/>'
            continue
        look = "shut" if box.closed else "open" if box.column else "first"
        yield f'<rect class="{look}" x="{x}" y="{y + 1:.1f}" width="{_WIDE}" height="{height}"/>'
        for number, line in enumerate(lines):
            down = y + 1 + _EDGE + number * _LINE + 12
            yield f'<text x="{x + _EDGE}" y="{down:.1f}">{escape(line)}</text>'
    yield "</svg>"


def _parts(graph: MultiDiGraph, name: str) -> Iterator[tuple[str, str]]:
    """The parts that a part holds, each with its field, in their order."""
    held: dict[tuple[str, int], str] = {}
    for _, other, told in graph.out_edges(name, data=True):
        if graph.nodes[other]["word"] not in NODES:
            held[told["fact"], told.get("place", 0)] = other
    return ((field, other) for (field, _), other in held.items())


def _held(graph: MultiDiGraph, name: str, field: str) -> list[str]:
    edges = graph.out_edges(name, data=True)
    return [other for _, other, told in edges if told["fact"] == field]


def _obstacles(graph: MultiDiGraph, name: str) -> list[str]:
    return [graph.nodes[each]["cause"] for each in _held(graph, name, "obstacles")]


def _causes(graph: MultiDiGraph, name: str) -> Iterator[str]:
    """What speaks for what a part says, in words."""
    of = graph.nodes[name]
    if of["word"] == "obstacle":
        yield of["cause"]
    elif of["word"] == "comparison":
        yield of["name"].partition(" (")[0]
    elif of["word"] in ("fact", "demand") and of["kind"] not in (ON, USED):
        yield of["name"]
    elif amounts := [(tier, of[f"change {tier}"]) for tier in TIERS if of.get(f"change {tier}")]:
        for tier, amount in amounts:
            yield points_changed(amount, tier)
    else:
        for field, part in _parts(graph, name):
            if field not in _NO_CAUSES:
                yield from _causes(graph, part)


def _choices(graph: MultiDiGraph, word: str, parts: Sequence[tuple[str, str]]) -> Iterator[str]:
    """What choices are called: other knobs for what was asked about in one."""
    asked = _held(graph, graph.graph["answer"], "destination")
    own = [
        name
        for _, name in parts
        if word == "why not" and _held(graph, name, "destination") == asked
    ]
    if own:
        knobs = [to for name in own for to in _held(graph, name, "knob")]
        yield f"on {knobs_told(graph.nodes[knob]['name'] for knob in knobs)}"
    for field, name in parts:
        if name not in own:
            yield _choice(graph, field, name)


def _choice(graph: MultiDiGraph, field: str, name: str) -> str:
    if graph.nodes[name]["word"] == "why not":
        (knob,), (destination,) = (_held(graph, name, of) for of in ("knob", "destination"))
        knob = knob_told(graph.nodes[knob]["name"])
        return f"{graph.nodes[destination]['name']} on {knob}"
    of = graph.nodes[name]
    if "what" in of:
        return f"without {of['what']}"
    if field == "families":
        return f"one knob more for {of['name']}"
    told = _CALLED.get(field, str(of["name"]))
    for cause in _causes(graph, name):  # it has a box of its own
        told = told.replace(f": {cause}", "", 1)
    return told


def _headline(graph: MultiDiGraph) -> str:
    of = graph.nodes[graph.graph["answer"]]
    return _HEADLINES.get(of["word"], str(of["name"]).removesuffix("."))


def _lines(text: str) -> list[str]:
    lines = wrapped(text, _LETTERS)
    if len(lines) > MOST_LINES:
        lines = [*lines[: MOST_LINES - 1], f"{lines[MOST_LINES - 1][: _LETTERS - 2]} …"]
    return lines
