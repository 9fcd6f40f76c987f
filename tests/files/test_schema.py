"""The schema: it agrees with what is written, what is read, and with the words."""

import copy
import json
import re
from collections.abc import Iterator
from typing import Any

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn
from jsonschema import Draft202012Validator

from knobpack import words
from knobpack.errors import InputError
from knobpack.files import dumps, schema
from knobpack.files.plain import from_plain, to_plain
from knobpack.words import (
    Alone,
    Apart,
    Arrival,
    Barred,
    BrokenKnob,
    Destination,
    Fixed,
    Group,
    Home,
    Knob,
    KnobLabel,
    KnobPosition,
    KnobSending,
    KnobTravel,
    Layout,
    MovedRoute,
    PastEdit,
    Request,
    Route,
    Setup,
    SetupPart,
    Snapshot,
    Span,
    Surface,
    Together,
    Travel,
    Voice,
    VoiceLayer,
    Weights,
)
from knobpack.words.asked import (
    EDITS,
    Away,
    BackInUse,
    Join,
    OneMore,
    OnKnob,
    OutOfUse,
    OwnKnob,
    Part,
    Swap,
)
from knobpack.words.fields import LONGEST_NAME, MOST_ITEMS
from tests.samples import REQUEST, SETUP
from tests.words_strategies import layouts, requests, setups

BRIEF = settings(max_examples=60, deadline=None)
SCHEMA = schema()
VALIDATOR = Draft202012Validator(SCHEMA)


def test_the_schema_is_a_schema() -> None:
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert SCHEMA["$id"] == "urn:knobpack:file:1"


@BRIEF
@given(requests() | setups() | layouts())
def test_what_is_written_is_what_the_schema_says(word: Request | Setup | Layout) -> None:
    VALIDATOR.validate(json.loads(dumps(word)))


Place = tuple[str | int, ...]
"""The keys and positions that lead to a value."""


def places(data: object, place: Place = ()) -> Iterator[Place]:
    """The place of every value inside ``data``."""
    if place:
        yield place
    if isinstance(data, dict):
        for key, item in data.items():
            yield from places(item, (*place, key))
    if isinstance(data, list):
        for position, item in enumerate(data):
            yield from places(item, (*place, position))


def path_of(place: Place) -> str:
    steps = (f"[{step}]" if isinstance(step, int) else f".{step}" for step in place)
    return "".join(steps).removeprefix(".")


NUMBERS = [-1, 0, 1, 5, 6, 7, 33, 10_000, 10_001, 2**32 - 1, 2**32, 2**32 + 1, 10**19, 1.0]
LONG = ["x" * size for size in (LONGEST_NAME, LONGEST_NAME + 1, 126)]
WRONG = st.sampled_from(
    [
        *(None, True, False, [], [1], ["a", "a"], {}, {"name": "x"}),
        *("", " ", "3", "a/b", "a/b/c", "a\n", "\u2028", "\x7f"),
        *NUMBERS,
        *LONG,
    ]
)


@st.composite
def mutations(draw: DrawFn) -> tuple[dict[str, Any], str]:
    """A file with one thing changed, and the path of what was changed."""
    samples: st.SearchStrategy[Request | Setup] = st.sampled_from([REQUEST, SETUP])
    plain = to_plain(draw(samples | requests() | setups() | layouts()))
    place = draw(st.sampled_from(list(places(plain))))
    holder: Any = plain
    for step in place[:-1]:
        holder = holder[step]
    last = place[-1]
    match draw(st.sampled_from(["drop", "add", "change"])):
        case "drop" if isinstance(holder, dict):
            del holder[last]
        case "add" if isinstance(holder, dict):
            place = (*place[:-1], "unheard_of")
            holder["unheard_of"] = draw(WRONG)
        case _:
            holder[last] = draw(WRONG)
    return plain, path_of(place)


@settings(max_examples=150, deadline=None)
@given(mutations())
def test_the_loader_refuses_whatever_the_schema_refuses(found: tuple[dict[str, Any], str]) -> None:
    plain, path = found
    refused = None
    try:
        from_plain(copy.deepcopy(plain))
    except InputError as error:
        refused = error.field
    if not VALIDATOR.is_valid(plain):
        # Exactly there, or at one item of the list that was put there.
        assert refused is not None
        assert re.fullmatch(re.escape(path) + r"(\[\d\])*(\.\w+)?", refused)


@pytest.mark.parametrize("wrong", [None, 3, "both", [], {}])
def test_what_is_one_of_a_few_texts_is_refused_where_it_stands(wrong: Any) -> None:
    surface = {"knobs": [], "travel_on": wrong}
    sends = {"surface": {"knobs": []}, "sending": [{"knob": "1", "turning": wrong}]}
    setup = {"knobpack": "setup", "version": 1, "name": "Late set"}
    for plain, path in (
        ({"knobpack": "request", "version": 1, "surface": surface}, "surface.travel_on"),
        ({**setup, "surface": surface}, "surface.travel_on"),
        ({**setup, **sends}, "sending[0].turning"),
    ):
        if path.endswith("turning") and wrong is None:
            continue  # nothing need be known of it
        with pytest.raises(InputError) as caught:
            from_plain(plain)
        assert caught.value.field == path


def resolved(node: dict[str, Any]) -> dict[str, Any]:
    """A part of the schema, what it refers to put in its place."""
    if "$ref" in node:
        inner = SCHEMA["$defs"][node["$ref"].removeprefix("#/$defs/")]
        return {**resolved(inner), **{key: node[key] for key in node if key != "$ref"}}
    for one in node.get("oneOf", ()):
        if one != {"type": "null"}:
            return {**resolved(one), **node}
    return node


CLASSES: dict[str, Any] = {
    name: made for name in words.__dict__ if attrs.has(made := getattr(words, name))
} | {edit.__name__: edit for edit in EDITS}
SAMPLES: dict[str, Any] = {
    "Request": REQUEST,
    "Setup": SETUP,
    "Layout": REQUEST.keep,
    "Surface": Surface.row(2),
    "Knob": Knob("K1"),
    "Travel": Travel(0, 1),
    "Destination": Destination("level"),
    "Voice": Voice("Pad"),
    "Group": Group("low", ("Pad",)),
    "Snapshot": Snapshot("all"),
    "Route": Route("Pad/level", "K1"),
    "KnobPosition": KnobPosition("K1", 5),
    "BrokenKnob": BrokenKnob("K1"),
    "Home": Home(SETUP, SETUP),
    "KnobTravel": KnobTravel("K1", Travel(0, 1)),
    "VoiceLayer": VoiceLayer("Pad", 1),
    "MovedRoute": MovedRoute(1, Route("Pad/level", "K1")),
    "Arrival": Arrival("Quay set", "Evening set"),
    "Span": Span(36, 60),
    "KnobLabel": KnobLabel("K1", "Drive"),
    "KnobSending": KnobSending("K1", 16, turning="endless"),
    "Weights": Weights(),
    "Together": Together(("a",)),
    "Apart": Apart(("a",), ("b",)),
    "Alone": Alone(("a",)),
    "Fixed": Fixed(("a",), "K1"),
    "Barred": Barred(("a",), ("K1",)),
    "SetupPart": SetupPart(),
    "PastEdit": PastEdit(),
    "OwnKnob": OwnKnob(("a",)),
    "OnKnob": OnKnob(("a",), "K1"),
    "Swap": Swap("K1", "K2"),
    "Part": Part(("a", "b")),
    "Join": Join(("K1", "K2")),
    "OutOfUse": OutOfUse("K1"),
    "BackInUse": BackInUse("K1"),
    "Away": Away(("a",)),
    "OneMore": OneMore(Voice("Pad")),
}


def properties_of(name: str) -> tuple[dict[str, Any], list[str]]:
    """The properties of a word in the schema and those that are required, header left out."""
    word = SCHEMA["$defs"].get(name) or SCHEMA["$defs"][f"{name}File"]
    header = {"knobpack", "version", "rule", "edit"}
    inner = {key: resolved(node) for key, node in word["properties"].items() if key not in header}
    return inner, [key for key in word["required"] if key not in header]


def test_every_word_has_a_sample() -> None:
    assert set(SAMPLES) == set(CLASSES)


@pytest.mark.parametrize("name", SAMPLES)
def test_the_schema_has_the_fields_and_defaults_of_the_word(name: str) -> None:
    inner, required = properties_of(name)
    fields = attrs.fields_dict(CLASSES[name])
    assert list(inner) == list(fields)
    assert required == [key for key, field in fields.items() if field.default is attrs.NOTHING]
    for key, field in fields.items():
        told = inner[key].get("default", attrs.NOTHING)
        plain = list(field.default) if isinstance(field.default, tuple) else field.default
        if isinstance(field.default, attrs.Factory) or attrs.has(type(field.default)):  # type: ignore[arg-type]
            assert told is attrs.NOTHING  # it depends on the word, or is told part by part
        else:
            assert told == plain
            assert type(told) is type(plain)


@pytest.mark.parametrize("name", SAMPLES)
def test_the_schema_has_the_limits_of_the_word(name: str) -> None:
    for key, node in properties_of(name)[0].items():
        if "items" in node:
            check_sizes(SAMPLES[name], key, node)
        if "minimum" in node:
            check_range(SAMPLES[name], key, node["minimum"], node["maximum"])
        if "null" in node["type"]:
            attrs.evolve(SAMPLES[name], **{key: None})
        if "pattern" in node:
            check_lengths(SAMPLES[name], key, node["pattern"])


def check_sizes(sample: Any, key: str, node: dict[str, Any]) -> None:
    """The word takes and refuses the same lengths of a list, and the same numbers in it."""
    item = resolved(node["items"])
    if "minimum" in item:
        low, high, size = item["minimum"], item["maximum"], node["minItems"]
        assert node["maxItems"] == size
        attrs.evolve(sample, **{key: (low,) * (size - 1) + (high,)})
        for wrong in ([low] * (size - 1), [low] * (size + 1), [low - 1] * size, [high + 1] * size):
            with pytest.raises(InputError):
                attrs.evolve(sample, **{key: wrong})
        return
    assert node["maxItems"] == MOST_ITEMS
    with pytest.raises(InputError, match=f"at most {MOST_ITEMS}"):
        attrs.evolve(sample, **{key: (None,) * (MOST_ITEMS + 1)})
    least = node.get("minItems", 0)
    assert (f"give {least} or more names" in refusal(sample, key, ())) == (least > 0)


def refusal(sample: Any, key: str, value: object) -> str:
    """What the word says to a value: nothing if it takes it."""
    try:
        attrs.evolve(sample, **{key: value})
    except InputError as error:
        return str(error)
    return ""


def check_range(sample: Any, key: str, low: int, high: int) -> None:
    """The word takes and refuses the same numbers."""
    for number in (low, high):
        assert getattr(attrs.evolve(sample, **{key: number}), key) == number
    for number in (low - 1, high + 1):
        assert f"from {low} to {high}" in refusal(sample, key, number)


def check_lengths(sample: Any, key: str, pattern: str) -> None:
    """The word takes and refuses the same lengths as the pattern."""
    for text in ("", *("x" * size for size in (1, 2, 119, 120, 121, 124, 125, 126)), "a/b", "a/"):
        if re.search(pattern, text):
            assert getattr(attrs.evolve(sample, **{key: text}), key) == text
        else:
            with pytest.raises(InputError):
                attrs.evolve(sample, **{key: text})
