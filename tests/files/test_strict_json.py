"""Strict JSON: text that is refused, and where."""

import json
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobpack.errors import InputError
from knobpack.files import dumps, loads
from knobpack.words import Layout
from knobpack.words.fields import MOST_ITEMS


def bare(route: str) -> str:
    """A layout file with this text for its one route."""
    return f'{{"knobpack": "layout", "version": 1, "routes": [{route}]}}'


TEXTS = [
    ("", "line 1, column 1", "not JSON"),
    ("{\n  'knobpack': 1}", "line 2, column 3", "enclosed in double quotes"),
    ('{"knobpack": "layout",\n "version": }', "line 2, column 13", "not JSON: expecting value"),
    ('{"knobpack": "layout",\n}', "line 2, column 1", "a comma stands before the closing bracket"),
    ("[1, ]", "line 1, column 5", "a comma stands before the closing bracket"),
    ("{'knobpack': 1}", "line 1, column 2", "names and texts stand between straight double"),
    ('{"knobpack": \u201clayout\u201d}', "line 1, column 14", "straight double quotes"),
    ('{"version": 1\n "knobpack": 1}', "line 2, column 2", "perhaps a comma is missing before"),
    ('{"knobpack": "layout", "version": 1} {}', "line 1, column 38", "extra data"),
    ('{"knobpack": "lay', "line 1, column 14", "unterminated string"),
    ('{"knobpack": "a\tb"}', "line 1, column 16", "control character"),
    ('{"version": 01}', "line 1, column 14", "not JSON"),
    ('{"knobpack": "layout", "version": 1, "version": 1}', "version", "twice"),
    (bare('{"knob": "K1", "destination": "a/b", "knob": "K1"}'), "routes[0].knob", "twice"),
    (bare("NaN"), "routes[0]", "whole number"),
    (bare("-Infinity"), "routes[0]", "whole number"),
    (bare("3.0"), "routes[0]", "whole number"),
    (bare("1e2"), "routes[0]", "whole number"),
    (bare("9." + "9" * 5000), "routes[0]", "whole number"),
    (bare("9" * 21), "routes[0]", "at most 20 digits"),
    (bare("-" + "9" * 20), "routes[0]", "give an object"),
    # Python turns no more than 4,300 digits into a number, and raises ValueError of its own.
    (bare("-" + "9" * 5000), "routes[0]", "at most 20 digits"),
    (bare(r'{"knob": "\udc00", "destination": "a/b"}'), "routes[0].knob", "surrogate"),
    (bare('{"knob": "\udc00", "destination": "a/b"}'), "routes[0].knob", "surrogate"),
    (bare(",".join("1" * (MOST_ITEMS + 1))), "routes", "at most 10000 items"),
    (json.dumps(dict.fromkeys(map(str, range(MOST_ITEMS + 1)), 0)), "top level", "at most 10000"),
    ("[" * 33, "line 1, column 33", "nest at most 32"),
    ("[" * 1_000_000, "line 1, column 33", "nest at most 32"),
    ('{"a":\n' * 1_000_000, "line 33, column 1", "nest at most 32"),
    ("[" * 32 + "]" * 32, "top level", "give an object"),
    ('"' + "[" * 99 + '\\""', "top level", "give an object"),
    (" " * 8_000_001, "size", "at most 8,000,000 bytes"),
    ("é" * 4_000_001, "size", "at most 8,000,000 bytes"),
]


@pytest.mark.parametrize(("text", "field", "right"), TEXTS, ids=range(len(TEXTS)))
def test_text_that_is_not_strict_json_is_refused(text: str, field: str, right: str) -> None:
    with pytest.raises(InputError, match=right) as caught:
        loads(text)
    assert caught.value.field == field
    assert len(str(caught.value)) < 600


@pytest.mark.parametrize("text", ["", '{"knobpack":', "[1", '{"version": 1,'])
def test_text_that_is_cut_short_says_that_it_ends(text: str) -> None:
    with pytest.raises(InputError) as caught:
        loads(text)
    told = f"line 1, column {len(text) + 1}: the text ends here; this is not JSON: expecting"
    assert str(caught.value).startswith(told)
    assert "comma is missing" not in str(caught.value)


@pytest.mark.parametrize(
    ("content", "field"),
    [
        (b'{"knobpack": "\xff"}', "byte 15"),
        (b"\xc0\x80", "byte 1"),  # an overlong zero, which UTF-8 does not have
        (b"\xed\xa0\x80", "byte 1"),  # half of a surrogate pair
        ("{}".encode("utf-16"), "byte 1"),
        ("{}".encode("utf-16-le"), "line 1, column 2"),
    ],
)
def test_bytes_that_are_not_utf8_are_refused(content: bytes, field: str) -> None:
    with pytest.raises(InputError) as caught:
        loads(content)
    assert caught.value.field == field


def test_only_text_or_bytes_are_read() -> None:
    with pytest.raises(InputError, match="give text or bytes"):
        loads(None)  # type: ignore[arg-type]


@given(st.text() | st.binary() | st.text('[]{}":,0-\\ue').map(bare))
def test_nothing_but_input_error_comes_of_bad_text(text: str | bytes) -> None:
    word: Any = Layout()
    with suppress(InputError):
        word = loads(text)
    assert loads(dumps(word)) == word
