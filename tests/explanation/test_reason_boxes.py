"""What a drawing of reasons shows: no choice is lost or told twice, and nothing but the graph."""

from __future__ import annotations

import random
import re
from collections import Counter
from itertools import pairwise

from knobpack.explanation.here import Here, why_here
from knobpack.explanation.reason_boxes import MOST_BOXES, branches, reason_boxes, tops
from knobpack.reasons.graph import NODES
from tests.explanation.test_reasons import allocations, every_answer


def test_every_other_knob_is_in_one_branch_with_what_speaks_against_it() -> None:
    seen: Counter[str] = Counter()
    for allocation in allocations():
        for route in allocation.routes:
            answer = why_here(allocation, route.destination)
            told = branches(answer.graph)
            knobs = [knob for each in told if each.choice for knob in _knobs(each.choice, answer)]
            assert sorted(knobs) == sorted(each.knob for each in answer.others)
            of = {each.knob: each for each in answer.others}
            for branch in told:
                for knob in _knobs(branch.choice, answer) if branch.choice else ():
                    assert branch.closed == (not of[knob].allowed)
                    causes = {each.cause for each in of[knob].obstacles}
                    price = of[knob].comparison
                    causes |= {price.told} if price else set()
                    assert set(branch.causes) <= causes
                    seen["closed" if branch.closed else "priced"] += 1
                seen["several"] += len(_knobs(branch.choice, answer)) > 1
    assert min(seen[sort] for sort in ("closed", "priced", "several")) > 5


def _knobs(choice: str, answer: Here) -> list[str]:
    names = sorted((each.knob for each in answer.others), key=len, reverse=True)
    return re.findall("|".join(map(re.escape, names)), choice) if names else []


def test_a_drawing_is_small_and_says_only_what_the_graph_says() -> None:
    draw = random.Random(8)  # noqa: S311 (no secret)
    for allocation in allocations():
        for answer in every_answer(allocation, draw):
            graph = answer.graph
            drawing = reason_boxes(graph)
            columns = Counter(box.column for box in drawing.boxes)
            assert columns[0] == 1
            assert max(columns[1], columns[2]) <= MOST_BOXES
            for one, other in drawing.lines:  # none passes behind the boxes between
                left, right = (drawing.boxes[each].column for each in (one, other))
                assert left < right <= left + 1 + (columns[1] == 0)
            texts = [box.text for box in drawing.boxes if box.column == 2]
            assert len(set(texts)) == len(texts)
            led = {other for _, other in drawing.lines}
            assert led == set(range(1, len(drawing.boxes)))
            said = " ".join(
                str(value)
                for _, of in graph.nodes(data=True)
                for field, value in of.items()
                if of["word"] not in NODES and field in ("name", "cause")
            )
            for box in drawing.boxes:
                if box.column == 2 and "point" not in box.text and "not drawn" not in box.text:
                    assert box.text in said


def test_boxes_of_a_column_keep_apart() -> None:
    draw = random.Random(9)  # noqa: S311 (no secret)
    for allocation in allocations():
        answer = next(every_answer(allocation, draw))
        drawing = reason_boxes(answer.graph)
        heights = [1.0 + len(box.text) / 20 for box in drawing.boxes]
        top, high = tops(drawing, heights, 0.5)
        for column in range(3):
            spans = [
                (top[at], top[at] + heights[at])
                for at, box in enumerate(drawing.boxes)
                if box.column == column
            ]
            assert all(low <= high + 1e-9 for _, low in spans)
            for (_, low), (up, _) in pairwise(spans):
                assert up - low >= 0.5 - 1e-9
