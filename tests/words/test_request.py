"""Request: what is checked as a whole, and what is derived from it."""

import pickle
from typing import Any

import attrs
import pytest
from hypothesis import given, settings

from knobpack.errors import InputError
from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    Group,
    KnobTravel,
    Layout,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Together,
    Travel,
    Voice,
    VoiceLayer,
)
from knobpack.words.rules import RULES
from tests.words_strategies import layouts, requests, setups

PAD = Voice("Pad", (Destination("cutoff"), Destination("level", travel=Travel(0, 63))), layer=2)
BASS = Voice("Bass", (Destination("cutoff"), Destination("octave", movable=False)), layer=2)
LEAD = Voice("Lead", (Destination("level"),))
REQUEST = Request(Surface.row(4, layers=8), (PAD, BASS, LEAD))


def build(**changes: Any) -> Request:
    return attrs.evolve(REQUEST, **changes)


# What is refused --------------------------------------------------------------------------------

_KINDS = [("an " if kind.__name__[0] == "A" else "a ") + kind.__name__ for kind in RULES]
KINDS = f"give {', '.join(_KINDS[:-1])} or {_KINDS[-1]}"
NOT_THERE = "name a voice, a group, or voice/destination of this request"

REFUSED: list[tuple[dict[str, Any], str, object, str]] = [
    ({"surface": None}, "surface", None, "give a Surface"),
    ({"voices": (PAD, LEAD, PAD)}, "voices[2].name", "Pad", "given twice"),
    ({"voices": (PAD, "Lead")}, "voices[1]", "Lead", "give a Voice"),
    ({"groups": (Group("Lead", ("Pad",)),)}, "groups[0].name", "Lead", "given twice"),
    ({"groups": (Group("a", ("Pad",)), Group("a", ("Bass",)))}, "groups[1].name", "a", "twice"),
    ({"groups": (Group("a", ("Pad", "Pod")),)}, "groups[0].members[1]", "Pod", NOT_THERE),
    ({"groups": (Group("a", ("Pad/pan",)),)}, "groups[0].members[0]", "Pad/pan", NOT_THERE),
    # Outside its voice a destination has its full name only.
    ({"groups": (Group("a", ("cutoff",)),)}, "groups[0].members[0]", "cutoff", NOT_THERE),
    ({"snapshots": (Snapshot("s"), Snapshot("s"))}, "snapshots[1].name", "s", "given twice"),
    ({"snapshots": (Snapshot("s", ("Pad", "x")),)}, "snapshots[0].moves[1]", "x", NOT_THERE),
    (
        {"snapshots": (Snapshot("s", ("Bass", "Bass/octave")),)},
        "snapshots[0].moves[1]",
        "Bass/octave",
        "not movable",
    ),
    ({"rules": (Together(("Pad", "x")),)}, "rules[0].names[1]", "x", NOT_THERE),
    ({"rules": (Alone(("Pad",)), Alone(("x",)))}, "rules[1].names[0]", "x", NOT_THERE),
    ({"rules": (Apart(("x",), ("Pad",)),)}, "rules[0].first[0]", "x", NOT_THERE),
    ({"rules": (Apart(("Pad",), ("Bass", "x")),)}, "rules[0].second[1]", "x", NOT_THERE),
    ({"rules": (Fixed(("x",), "K1"),)}, "rules[0].names[0]", "x", NOT_THERE),
    ({"rules": (Fixed(("Pad",), "K5"),)}, "rules[0].knob", "K5", "name a knob of the surface"),
    ({"rules": (Barred(("x",), ("K1",)),)}, "rules[0].names[0]", "x", NOT_THERE),
    ({"rules": (Barred(("Pad",), ("K1", "K5")),)}, "rules[0].knobs[1]", "K5", "name a knob"),
    ({"rules": (Group("s", ("Pad",)),)}, "rules[0]", Group("s", ("Pad",)), KINDS),
    (
        {"keep": Layout.of({"K1": ["Pad/cutoff", "Pad"]})},
        "keep.routes[1].destination",
        "Pad",
        "name a voice/destination of this request",
    ),
    ({"keep": Layout.of({"K5": ["Pad/cutoff"]})}, "keep.routes[0].knob", "K5", "name a knob"),
    (
        {"keep": Layout(travels=(KnobTravel("K5", Travel(0, 1)),))},
        "keep.travels[0].knob",
        "K5",
        "name a knob",
    ),
    (
        {"keep": Layout(travels=(KnobTravel("K1", Travel(0, 128)),))},
        "keep.travels[0].travel.end",
        128,
        "positions run from 0 to 127 at 7 bits",
    ),
    (
        {"keep": Layout(layers=(VoiceLayer("Lead", 1), VoiceLayer("Pod", 2)))},
        "keep.layers[1].voice",
        "Pod",
        "name a voice of this request",
    ),
    (
        {"keep": Layout(layers=(VoiceLayer("Lead", 1), VoiceLayer("Pad", 1)))},
        "keep.layers[1].layer",
        1,
        "'Lead' is kept at this layer; give 'Pad' another",
    ),
    (
        {"keep": Layout(layers=(VoiceLayer("Lead", 9),))},
        "keep.layers[0].layer",
        9,
        "the surface has layers 1 to 8",
    ),
    (
        # Both keep a route, so both keep the layer that they have.
        {"keep": Layout.of({"K1": ["Pad/cutoff", "Bass/cutoff"]})},
        "voices[1].layer",
        2,
        "'Pad' is kept at this layer; give 'Bass' another",
    ),
    ({"keep": None}, "keep", None, "give a Layout"),
    ({"previous": ()}, "previous", (), "give a Layout"),
    ({"weights": None}, "weights", None, "give a Weights"),
]


@pytest.mark.parametrize(("changes", "field", "value", "right"), REFUSED)
def test_a_request_is_refused_where_it_goes_wrong(
    changes: dict[str, Any], field: str, value: object, right: str
) -> None:
    with pytest.raises(InputError) as caught:
        build(**changes)
    assert caught.value.field == f"Request.{field}"
    assert caught.value.value == value
    assert right in caught.value.right
    # All three stand in the sentence.
    assert str(caught.value) == f"Request.{field}: {value!r} will not do; {caught.value.right}"


@pytest.mark.parametrize(("start", "end", "field"), [(128, 0, "start"), (0, 200, "end")])
def test_a_travel_lies_within_the_resolution(start: int, end: int, field: str) -> None:
    voice = Voice("Pad", (Destination("level"), Destination("pan", travel=Travel(start, end))))
    with pytest.raises(InputError, match="from 0 to 127 at 7 bits") as caught:
        build(voices=(LEAD, voice))
    assert caught.value.field == f"Request.voices[1].destinations[1].travel.{field}"
    assert build(surface=Surface.row(4, bits=8), voices=(LEAD, voice)).voices[1] == voice


def test_there_are_at_most_ten_thousand_destinations() -> None:
    def voices(counts: list[int]) -> tuple[Voice, ...]:
        inner = [tuple(Destination(f"d{place}") for place in range(count)) for count in counts]
        return tuple(Voice(f"v{place}", made) for place, made in enumerate(inner))

    assert len(build(voices=voices([6000, 4000])).by_full_name) == 10_000
    with pytest.raises(InputError, match="at most 10000 destinations in all") as caught:
        build(voices=voices([6000, 4001]))
    assert caught.value.field == "Request.voices"
    assert caught.value.value == 10_001


def test_a_layer_is_not_kept_for_a_voice_that_keeps_no_route() -> None:
    # Pad and Bass both come from layer 2; neither is named by keep.
    assert REQUEST.base_layers == {}
    kept = build(keep=Layout.of({"K1": ["Pad/cutoff"]}))
    assert kept.base_layers == {"Pad": 2}
    moved = build(keep=Layout((Route("Pad/cutoff", "K1"),), layers=(VoiceLayer("Pad", 5),)))
    assert moved.base_layers == {"Pad": 5}


def test_what_the_previous_layout_names_need_not_be_there() -> None:
    previous = Layout.of({"K9": ["Gone/level"]})
    assert build(previous=previous).previous == previous


# Values -----------------------------------------------------------------------------------------


@settings(max_examples=40)
@given(requests() | setups() | layouts())
def test_words_are_values(word: Request | Setup | Layout) -> None:
    again = pickle.loads(pickle.dumps(word))  # noqa: S301
    assert again == word
    assert hash(again) == hash(word)
    assert repr(again) == repr(word)
    for field in attrs.fields(type(word)):
        with pytest.raises(attrs.exceptions.FrozenInstanceError):
            setattr(word, field.name, None)


def test_what_was_derived_does_not_count_and_is_derived_again() -> None:
    used = build(groups=(Group("low", ("Bass",)),))
    assert used.played
    fresh = pickle.loads(pickle.dumps(used))  # noqa: S301
    assert fresh == used == build(groups=used.groups)
    assert fresh.played == used.played
    assert fresh.members == used.members
