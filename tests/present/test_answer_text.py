"""Answer text and files hold every sentence, however odd the request."""

from __future__ import annotations

import pytest

from knobpack.allocator import allocate_request
from knobpack.clash import ImpossibleDemands
from knobpack.clash.every import EveryClash, every_clash
from knobpack.explanation.whole import Explanation, explain
from knobpack.files import dumps, loads
from knobpack.present.answer_text import answer_text
from knobpack.present.text import essential_lines
from tests.oracles.amount import EXAMPLES
from tests.oracles.strategies import seeded_request
from tests.present.read_answers import fits, joined


@pytest.mark.parametrize("seed", range(EXAMPLES // 10))
def test_all_is_said_and_written_of_requests_with_every_feature(seed: int) -> None:
    request = seeded_request(seed)
    answer: Explanation | EveryClash
    try:
        made = allocate_request(request)
    except ImpossibleDemands:
        answer = every_clash(request, most=10)
    else:
        answer = explain(made)
    text = answer_text("HEADING", answer)
    assert text.endswith("\n")
    assert fits(text)
    body = [line for line in text.split("\n") if line.startswith("  ")]
    if isinstance(answer, Explanation):
        # Who shows answers says what is essential and left out above all of them.
        body = [*essential_lines(answer.essential_out), *body]
    # A name without spaces that is longer than a line is broken: all else stands as it is.
    assert joined(body).replace(" ", "") == joined(answer.sentences).replace(" ", "")
    headings = [line for line in text.split("\n") if line and not line.startswith("  ")]
    assert isinstance(answer, Explanation) or headings == ["HEADING"]
    assert loads(dumps(answer)) == answer
