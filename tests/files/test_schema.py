"""The schema: it agrees with what is written, with what is read, and with what the words take."""

import copy
import inspect
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn
from jsonschema import Draft202012Validator

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.errors import InputError
from knobpack.file_shapes import check_shape, schema_text
from knobpack.files import dumps, from_plain, load, loads, schema, to_plain
from knobpack.files.described import described
from knobpack.files.forms import form_of
from knobpack.files.written import fields_to_plain
from knobpack.words import (
    Destination,
    Group,
    KnobLabel,
    Layout,
    Request,
    Rule,
    Setup,
    Snapshot,
    Span,
    Travel,
    converters,
    fields,
)
from knobpack.words.fields import LONGEST_NAME
from tests.files.answers import allocation, answers
from tests.samples import REQUEST, SETUP
from tests.words_strategies import layouts, requests, setups

SCHEMA = schema()
VALIDATOR = Draft202012Validator(SCHEMA)


def test_the_schema_in_the_package_is_what_the_words_say() -> None:
    assert schema_text() == described() + "\n"


def test_the_schema_is_a_schema() -> None:
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert SCHEMA["$id"] == "urn:knobpack:file:1"


@given(requests() | setups() | layouts())
def test_what_is_written_is_what_the_schema_says(word: Request | Setup | Layout) -> None:
    VALIDATOR.validate(json.loads(dumps(word)))


def test_so_are_answers_and_graphs() -> None:
    every = answers()
    for made in (*every.values(), every, [*every.values()], allocation().graph):
        VALIDATOR.validate(to_plain(made))


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


@settings(max_examples=150)
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


def node_of(word: str, field: str) -> dict[str, Any]:
    node: dict[str, Any] = SCHEMA["$defs"][word]["properties"][field]
    return node


@pytest.mark.parametrize(
    ("word", "field", "sample"),
    [
        ("Destination", "name", Destination("level")),
        ("Snapshot", "name", Snapshot("all")),
        ("Group", "members", Group("low", ("Pad",))),
        ("KnobLabel", "label", KnobLabel("K1", "Drive")),
    ],
)
def test_a_text_is_as_long_as_the_word_takes_it(word: str, field: str, sample: Any) -> None:
    node = node_of(word, field)
    listed = "items" in node
    pattern = (node["items"] if listed else node)["pattern"]
    for text in ("", *("x" * size for size in (1, 2, 119, 120, 121, 124, 125, 126)), "a/b", "a/"):
        refused = None
        try:
            attrs.evolve(sample, **{field: (text,) if listed else text})
        except InputError as error:
            refused = error
        assert (refused is None) == (re.search(pattern, text) is not None)


def test_the_limits_of_open_standards_stand_in_the_schema() -> None:
    # MIDI 1.0, Table I: 16 channels, 128 programs, data bytes of 7 bits. M2-117-UM: 5 priorities.
    found = {
        name: (node_of(*name)["minimum"], node_of(*name)["maximum"])
        for name in (
            *(("Voice", "channel"), ("Voice", "program"), ("Span", "low"), ("Span", "high")),
            *(("KnobSending", "number"), ("Destination", "priority")),
        )
    }
    assert list(found.values()) == [(1, 16), (1, 128), (0, 127), (0, 127), (0, 127), (1, 5)]
    assert node_of("Weights", "unplaced")["default"] == [256, 64, 16, 4]


def test_every_word_and_field_is_described_as_its_docstring_does() -> None:
    for word in SCHEMA["$defs"].values():
        for key, node in word.get("properties", {}).items():
            assert "const" in node or node["description"] != key
    assert SCHEMA["$defs"]["Travel"]["description"] in (inspect.getdoc(Travel) or "")
    described = node_of("Voice", "keys")["description"]
    assert described == "Its key range, as the keys are pressed; null: all keys."


@attrs.frozen
class Lamp:
    """A light beside a knob.

    Args:
        knob: the name of the knob.
        colour: how it
            shines.
        level: how bright; None: not known.
        lit: from which key to which.
        rules: what holds while it is lit.
    """

    knob: str = attrs.field(converter=converters.knob_name, validator=fields.name())
    colour: Literal["red", "green"] = attrs.field(
        default="red", validator=fields.choice(("red", "green"))
    )
    level: int | None = attrs.field(default=None, validator=fields.whole(0, 9, optional=True))
    lit: Span | None = attrs.field(default=None, validator=fields.one(Span, optional=True))
    rules: tuple[Rule, ...] = ()


def test_a_field_is_written_once_in_its_word() -> None:
    form = form_of(Lamp)
    lamp = Lamp("K1", "green", 3, Span(1, 2), REQUEST.rules)
    plain = json.loads(json.dumps(fields_to_plain(lamp, whole=False)))
    assert form.read(plain) == lamp
    assert fields_to_plain(Lamp("K1"), whole=False) == {"knob": "K1"}
    definitions = {**SCHEMA["$defs"], "Lamp": form.definition()}  # type: ignore[attr-defined]
    check_shape(plain, form.schema({}), definitions)
    for change, field in (
        ({"level": 10}, "level"),
        ({"lit": {"low": 1, "high": 128}}, "lit.high"),
        ({"colour": "blue"}, "colour"),
        ({"colur": "red"}, "colur"),
    ):
        with pytest.raises(InputError) as caught:
            check_shape(plain | change, form.schema({}), definitions)
        assert caught.value.field == field
    properties = definitions["Lamp"]["properties"]
    assert properties["level"] == {
        "description": "How bright; null: not known.",
        "type": ["integer", "null"],
        "minimum": 0,
        "maximum": 9,
        "default": None,
    }
    assert properties["colour"]["enum"] == ["red", "green"]
    assert properties["colour"]["description"] == "How it shines."


def test_an_allocation_that_was_best_by_an_earlier_definition_is_not_proven() -> None:
    """It has three loads on one knob, which cost less then; what it was asked for can be read."""
    path = Path(__file__).parent / "written_by_0_6_0" / "allocation.json"
    found = load(path)
    assert isinstance(found, Allocation)
    assert not found.proven
    assert found.tier("sharing").value > 4800
    plain = json.loads(path.read_text("utf-8"))["request"]
    request = loads(json.dumps(plain | {"knobpack": "request", "version": 1}))
    assert isinstance(request, Request)
    assert allocate_request(request).proven


@pytest.mark.parametrize("name", ["setup", "request", "layout"])
def test_files_of_an_earlier_version_are_read(name: str) -> None:
    path = Path(__file__).parent / "written_by_0_6_0" / f"{name}.json"
    word = load(path)
    assert type(word).__name__.lower() == name
    plain = json.loads(path.read_text("utf-8"))
    VALIDATOR.validate(plain)
    assert json.loads(dumps(word)) == read_of(plain)


def read_of(plain: Any) -> Any:
    """Plain data without what is passed over of earlier versions: what broken knobs remembered."""
    if isinstance(plain, list):
        return [read_of(each) for each in plain]
    if not isinstance(plain, dict):
        return plain
    bare = set(plain) == {"knob", "before", "after"}
    return {k: read_of(each) for k, each in plain.items() if k == "knob" or not bare}
