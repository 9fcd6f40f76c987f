"""What every answer about the fewest knobs must be, and how it must be told."""

from __future__ import annotations

import re

import attrs

from knobpack.checker import check
from knobpack.explanation.least import LeastKnobs
from knobpack.words import (
    Destination,
    Request,
    Rule,
    Surface,
    Voice,
)
from tests.oracles import brute
from tests.oracles.least_knobs import (
    laid_out,
    wrong_in,
)
from tests.oracles.reasons_read import read_back


def assert_right(asked: Request, answer: LeastKnobs) -> None:
    assert wrong_in(asked, read_back(asked, answer.graph)) == []
    wide, layout = laid_out(asked, answer)
    assert check(wide, layout).breaches == ()
    assert brute.price(wide, layout).valid
    assert_told(asked, answer)


def assert_told(asked: Request, answer: LeastKnobs) -> None:
    """Every number in a sentence is one of the answer's own."""
    told = str(answer)
    assert told == "\n".join(answer.sentences)
    names = (*asked.by_full_name, *asked.surface.knob_names)
    for name in sorted(names, key=len, reverse=True):
        told = told.replace(name, "")
    own = {number for number in attrs.astuple(answer, recurse=False) if isinstance(number, int)}
    own |= {answer.missing, answer.unshared_missing, answer.added}
    own |= {len(answer.separated), len(answer.uncrowded)}
    own |= {number for each in answer.crowds for number in (each.knobs, len(each.destinations))}
    told = re.sub(r"and [\d,]+ more", "", told)
    assert {int(number.replace(",", "")) for number in re.findall(r"\d[\d,]*", told)} <= own, told


def one_voice(*rules: Rule, count: int = 4, surface: Surface | None = None) -> Request:
    inner = tuple(Destination(name, "level") for name in "abcdefghijklmnop"[:count])
    return Request(surface or Surface.row(2), (Voice("V", inner),), snapshots=(), rules=rules)
