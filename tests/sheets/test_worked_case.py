"""The worked case: what is to be set is what was added, nothing else (common practice, no source).

The half travel: 64 of 127 is 512 of 1023 by the min-center-max rule of M2-115-U 1.0.2, 3.3.1.
"""

from __future__ import annotations

import attrs
import pytest

from knobpack.combination.answer import Combination
from knobpack.combination.combiner import combine
from knobpack.definition.phrases import CAUTION
from knobpack.sheets import patch_sheet
from knobpack.words import KnobTravel, Travel
from tests.combination.cases import BASE, GUEST, LATER


@pytest.fixture(scope="module")
def first() -> Combination:
    return combine(BASE, GUEST)


def test_the_sheet_says_what_to_set(first: Combination) -> None:
    text = patch_sheet(BASE, first.setup).text()
    assert "set the travel 0 to 512 (half); none was set." in text
    assert "Voice 'Low drone' from 'Harbour set': add it on layer 3." in text
    assert "then K3, K4, K5 and K6 follow the master" in " ".join(text.split())
    assert CAUTION in " ".join(text.split())


def test_a_knob_is_given_its_travel_between_the_old_and_the_new(first: Combination) -> None:
    half = attrs.evolve(first.setup, travels=(KnobTravel("K7", Travel(0, 512)),))
    second = combine(half, LATER)
    sentences = [s for s in patch_sheet(half, second.setup).sentences if s.startswith("K7")]
    assert sentences[:2] == [
        "K7: set the travel 0 to 1023 (full); it was 0 to 512 (half).",
        "K7: route it to Pulse bass/cutoff on layer 5.",
    ]
