"""The demo: it holds what it is there to show, and its best layout is not to be had by hand."""

from __future__ import annotations

import json
from collections import Counter
from functools import cache
from importlib import resources

import attrs
import pytest

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.checker import check, follows
from knobpack.files import dumps
from knobpack.present.demo import demo_request
from knobpack.words import Apart, KnobTravel, Layout, Route, Travel, VoiceLayer
from tests.present.read_text import knobs, read
from tests.present.text_agrees import agree

BASE = "Piano"

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


def test_there_are_more_destinations_than_knobs_and_voices_from_three_sources() -> None:
    request = demo_request()
    surface = request.surface
    assert len(surface.knobs) == 8
    assert {knob.row for knob in surface.knobs} == {1}
    assert surface.bits == 7
    assert any(knob.usual for knob in surface.knobs)
    assert 20 <= len(request.by_full_name) <= 24
    assert len({voice.source for voice in request.voices} - {None}) == 3
    assert sum(voice.source is not None for voice in request.voices) >= 4


def test_layers_collide_in_the_sources_and_not_in_the_result() -> None:
    assert max(Counter(voice.layer for voice in demo_request().voices).values()) > 1
    new = [place.new for place in found().layers]
    assert sorted(new) == list(range(1, len(new) + 1))
    assert any(place.old != place.new for place in found().layers)


def test_every_sort_of_wish_occurs() -> None:
    request = demo_request()
    inner = list(request.by_full_name.values())
    travels = [each.travel for each in inner if each.travel is not None]
    assert any(travel.reversed for travel in travels)
    assert Travel(0, 64) in travels
    assert {each.priority for each in inner} == {1, 2, 3, 4, 5}
    assert sum(not each.movable for each in inner) == 1
    assert sum(each.steps is not None for each in inner) == 1
    bundles = Counter(
        (request.voice_of[name].source, each.source_knob)
        for name, each in request.by_full_name.items()
        if each.source_knob is not None
    )
    assert sum(size > 1 for size in bundles.values()) >= 3
    assert len(request.played) == 4
    assert request.groups
    assert sum(rule.weight is None for rule in request.rules) == 1
    assert sum(rule.weight is not None for rule in request.rules) in (1, 2)


def test_the_members_of_a_bundle_wanted_one_travel() -> None:
    # In its source one knob carried them, and a knob has one travel.
    request = demo_request()
    wanted: dict[tuple[str | None, str], set[Travel]] = {}
    for name, each in request.by_full_name.items():
        if each.source_knob is not None:
            bundle = request.voice_of[name].source, each.source_knob
            wanted.setdefault(bundle, set()).add(request.wanted(name))
    assert all(len(travels) == 1 for travels in wanted.values())


def test_the_base_keeps_its_route_travel_and_layer() -> None:
    keep = demo_request().keep
    assert len(keep.routes) == len(keep.travels) == len(keep.layers) == 1
    assert keep.routes[0] in found().routes
    assert keep.travels[0] in found().travels
    assert keep.layers[0] in found().layout.layers
    assert [route.destination for route in found().routes if route.knob == "K8"] == [
        f"{BASE}/level"
    ]
    assert demo_request().voice_of[f"{BASE}/level"].source is None


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
    assert any(0 < line.missed < 100 for line in lines)


def test_the_required_rule_is_what_stands_in_the_way_of_a_cheaper_layout() -> None:
    request = demo_request()
    (rule,) = [rule for rule in request.rules if rule.weight is None]
    assert isinstance(rule, Apart)
    free = attrs.evolve(request, rules=tuple(each for each in request.rules if each != rule))
    assert allocate_request(free).prices.totals < found().prices.totals


@pytest.mark.parametrize("by_hand", [BY_VOICE, BY_KIND], ids=["by voice", "by kind"])
def test_a_layout_made_by_hand_is_valid_and_costs_more(by_hand: dict[str, list[str]]) -> None:
    request = demo_request()
    layers = tuple(VoiceLayer(place.voice, place.new) for place in found().layers)
    layout = Layout(Layout.of(by_hand).routes, (), layers)
    checked = check(request, layout)
    assert checked.breaches == ()
    assert found().prices.totals < checked.prices.totals


def test_no_one_destination_moved_to_another_knob_costs_less() -> None:
    # Every neighbour of the layout, with the cheapest travels: no solver is asked.
    request, allocation = demo_request(), found()
    tried = 0
    for moved in allocation.routes:
        for knob in request.surface.knob_names:
            routes = tuple(
                Route(route.destination, knob) if route == moved else route
                for route in allocation.routes
            )
            checked = check(request, Layout(routes, (), allocation.layout.layers))
            if knob != moved.knob and checked.valid:
                tried += 1
                assert checked.prices.totals >= allocation.prices.totals
    assert tried > 10


def test_no_other_travel_of_a_knob_costs_less() -> None:
    request, allocation = demo_request(), found()
    settings = {each.knob: each.travel for each in allocation.travels}
    wanted = {request.wanted(name) for name in request.by_full_name}
    for knob in settings:
        for travel in wanted:
            changed = tuple(KnobTravel(*each) for each in (settings | {knob: travel}).items())
            checked = check(request, Layout(allocation.routes, changed, allocation.layout.layers))
            assert checked.prices.totals >= allocation.prices.totals or not checked.valid


def test_each_snapshot_moves_what_it_says_and_no_more() -> None:
    request, allocation = demo_request(), found()
    for each, snapshot in zip(allocation.following, request.played, strict=True):
        carried = {r.destination for r in allocation.routes if r.knob in each.knobs}
        assert carried == request.moved(snapshot)
        assert each.knobs == follows(request, allocation.layout, snapshot.name)
