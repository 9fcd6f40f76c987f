"""The demo: it holds what it is there to show, and its best layout is not to be had by hand."""

from __future__ import annotations

import json
from collections import Counter
from functools import cache
from importlib import resources

import pytest

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.checker import check
from knobpack.files import dumps
from knobpack.present.demo import demo_request
from knobpack.words import Layout, VoiceLayer
from tests.present.read_text import knobs, read
from tests.present.text_agrees import agree

BY_VOICE = {
    "K1": ["Strings/cutoff", "Strings/resonance", "Strings/level", "Strings/reverb"],
    "K2": ["Strings/attack", "Bells/decay"],
    "K3": ["Organ/cutoff", "Organ/drive", "Organ/level", "Organ/reverb"],
    "K4": ["Oboe/cutoff", "Oboe/level", "Oboe/vibrato", "Oboe/vibrato rate"],
    "K5": ["Bass/cutoff", "Bass/resonance", "Bass/level"],
    "K6": ["Bells/level", "Bells/cutoff", "Bells/echo", "Bells/octave"],
    "K7": ["Bells/tuning"],
    "K8": ["Piano/level"],
}
"""What a player would do first: a knob for each voice, the rest where it is played the same way."""

BY_KIND = {
    "K1": ["Strings/cutoff", "Strings/resonance", "Oboe/cutoff", "Bells/cutoff"],
    "K2": ["Strings/level", "Bells/level", "Strings/reverb", "Bells/echo"],
    "K3": ["Oboe/level", "Oboe/vibrato", "Oboe/vibrato rate", "Bells/octave"],
    "K4": ["Strings/attack", "Bells/decay"],
    "K5": ["Organ/cutoff", "Bass/cutoff", "Bass/resonance", "Organ/drive"],
    "K6": ["Organ/level", "Bass/level", "Organ/reverb"],
    "K7": ["Bells/tuning"],
    "K8": ["Piano/level"],
}
"""The other way: what is of one kind together, whichever voice it belongs to."""


@cache
def found() -> Allocation:
    return allocate_request(demo_request())


def test_the_file_is_as_it_would_be_written() -> None:
    text = resources.files("knobpack.present").joinpath("demo.json").read_text("utf-8")
    assert dumps(demo_request()) == text
    assert json.loads(text)["knobpack"] == "request"


def test_everything_is_placed_and_every_tier_proven() -> None:
    allocation = found()
    assert allocation.unplaced == ()
    assert allocation.proven
    assert allocation.stopped is None
    checked = check(demo_request(), allocation.layout)
    assert checked.valid
    assert checked.prices == allocation.prices
    assert checked.prices.totals == tuple(tier.value for tier in allocation.tiers)
    assert demo_request().least_knobs().independent < 8


def test_the_text_states_the_numbers_of_the_allocation() -> None:
    agree(found(), read(found()))


def test_there_is_something_to_weigh() -> None:
    allocation = found()
    terms: Counter[str] = Counter()
    for each in allocation.prices.knobs:
        terms.update(dict(each.terms))
    assert min(terms[term] for term in ("mix_kinds", "mix_voices", "crowd", "travel")) > 0
    # A snapshot moves one of a bundle and holds the other; too few knobs are there for the rest.
    (parted,) = allocation.parted
    assert [each.knobs for each in allocation.prices.bundles] == [parted.knobs]
    assert "snapshot 'Ground alone' holds" in str(parted)
    assert any(each.ran_out for each in allocation.joined)
    # On one knob the travel is what one destination wants, and misses what another does.
    under = knobs(read(allocation)["KNOBS"]).values()
    lines = [line for _, carried in under for line in carried]
    assert any(line.wanted for line in lines)


@pytest.mark.parametrize("by_hand", [BY_VOICE, BY_KIND], ids=["by voice", "by kind"])
def test_a_layout_made_by_hand_is_valid_and_costs_more(by_hand: dict[str, list[str]]) -> None:
    request = demo_request()
    layers = tuple(VoiceLayer(place.voice, place.new) for place in found().layers)
    layout = Layout(Layout.of(by_hand).routes, (), layers)
    checked = check(request, layout)
    assert checked.breaches == ()
    assert found().prices.totals < checked.prices.totals
