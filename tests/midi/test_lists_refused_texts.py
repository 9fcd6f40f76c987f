"""Text, files, maps and options that are refused, each by its place."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from knobpack.errors import InputError
from knobpack.midi import import_controllers
from knobpack.words import Voice
from tests.midi.lists import EXAMPLE, WAVES, entry


def bare(first: str) -> str:
    """A list as text whose one entry begins like this."""
    return f'[{{{first}, "channel": 1, "ctrlType": "cc", "ctrlIndex": [74]}}]'


TEXTS = [
    ("", "line 1, column 1", "not JSON"),
    # The examples of the standard as they are printed: a comma too many or too few, a key without
    # quotes, a text without end. What was meant is anyone's guess, so nobody guesses.
    (
        '[{"title": "Hold", "ctrlIndex": [67] "typeHint": "momentary"}]',
        "line 1, column 38",
        "not JSON",
    ),
    ('[{"title": "Hold", "typeHint": "momentary}]', "line 1, column 32", "not JSON"),
    ('[{"title": "Hold"},]', "line 1, column 20", "not JSON"),
    ('[{"title": "Hold",}]', "line 1, column 19", "not JSON"),
    ('[{title: "Hold"}]', "line 1, column 3", "not JSON"),
    # Whatever else is no strict JSON is refused in its place (tests/files/test_strict_json.py).
    (bare('"title": "A", "priority": 1.0'), "[0].priority", "whole number"),
    ('{"title": "A"}', "top level", "give a list"),
    ("5", "top level", "give a list"),
    ("[5]", "[0]", "give an object"),
    ("[[]]", "[0]", "give an object"),
    (json.dumps([0] * 10_001), "top level", "at most 10000"),
    (" " * 8_000_001, "size", "at most 8,000,000 bytes"),
    (b"[\xff]", "byte 2", "write UTF-8, or give a file of JSON"),
]


@pytest.mark.parametrize(("given", "field", "right"), TEXTS, ids=range(len(TEXTS)))
def test_text_that_is_no_list(given: str | bytes, field: str, right: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=right) as caught:
        import_controllers(given, "Lead")
    assert caught.value.field == field
    if given and len(given) < 100:
        path = tmp_path / "list.json"
        path.write_bytes(given.encode() if isinstance(given, str) else given)
        with pytest.raises(InputError, match=right) as caught:
            import_controllers(path, "Lead")
        assert caught.value.field == field
        assert str(caught.value).endswith(f"; in the file {str(path)!r}")


def test_what_is_no_list_at_all(tmp_path: Path) -> None:
    wrong: list[Any] = [None, 5, {}, (entry(),), {"a"}, [entry()] * 10_001]
    for given in wrong:
        with pytest.raises(InputError, match="top level"):
            import_controllers(given, "Lead")
    for given in ([5], [None], [[entry()]]):
        with pytest.raises(InputError, match=r"\[0\].*give an object"):
            import_controllers(given, "Lead")
    for path in (tmp_path / "none.json", tmp_path, Path("a\0b")):
        with pytest.raises(InputError, match="give a file that can be read") as caught:
            import_controllers(path, "Lead")
        assert caught.value.field == str(path)


def test_a_file_that_is_too_long_is_not_cut_short(tmp_path: Path) -> None:
    path = tmp_path / "long.json"
    path.write_text("[]" + " " * 7_999_998)
    assert import_controllers(path, "Lead").voices == (Voice("Lead", channel=1),)
    path.write_text("[]" + " " * 7_999_999)
    with pytest.raises(InputError, match="at most 8,000,000 bytes"):
        import_controllers(path, "Lead")


MAPS: list[tuple[Any, str, str]] = [
    ([], "maps", "give a mapping"),
    ("wave", "maps", "give a mapping"),
    ({"a b": WAVES}, "maps", "1 to 36 of the characters"),
    ({5: WAVES}, "maps", "1 to 36 of the characters"),
    ({"wave": 5}, 'maps["wave"]', "give a list"),
    ({"wave": {}}, 'maps["wave"]', "give a list"),
    ({"wave": [5]}, 'maps["wave"][0]', "give an object"),
    ({"wave": '[{"value": 0, "title": "A", "value": 1}]'}, "[0].value", "twice"),
    ({"wave": [{"title": "A"}]}, 'maps["wave"][0].value', "must be there"),
    ({"wave": [{"value": 0}]}, 'maps["wave"][0].title', "must be there"),
    ({"wave": [{"value": -1, "title": "A"}]}, 'maps["wave"][0].value', "0 to 4294967295"),
    ({"wave": [{"value": 2**32, "title": "A"}]}, 'maps["wave"][0].value', "0 to 4294967295"),
    ({"wave": [{"value": "0", "title": "A"}]}, 'maps["wave"][0].value', "0 to 4294967295"),
    ({"wave": [{"value": 0, "title": 5}]}, 'maps["wave"][0].title', "give text"),
    ({"wave": [{"value": 0, "Value": 0, "title": "A"}]}, 'maps["wave"][0].Value', "keep one"),
]


@pytest.mark.parametrize(("maps", "field", "right"), MAPS, ids=range(len(MAPS)))
def test_maps_that_are_none(maps: Any, field: str, right: str) -> None:
    # Section 4: value, a whole number, and title, text, are required.
    with pytest.raises(InputError) as caught:
        import_controllers(EXAMPLE, "Lead", maps=maps)
    assert caught.value.field == field
    assert right in caught.value.right


def test_an_error_says_in_which_file_and_map_it_is(tmp_path: Path) -> None:
    path = tmp_path / "one.json"
    path.write_text(json.dumps([entry(priority=9)]))
    with pytest.raises(InputError) as caught:
        import_controllers(path, "Lead")
    assert caught.value.field == "[0].priority"
    assert caught.value.file == str(path)
    path.write_text("[")
    for given, file in (("[", None), (path, str(path))):
        with pytest.raises(InputError) as caught:
            import_controllers(EXAMPLE, "Lead", maps={"wave": given})
        assert caught.value.field == "line 1, column 2"
        assert (caught.value.__notes__, caught.value.file) == (['in maps["wave"]'], file)


OPTIONS: list[tuple[dict[str, Any], str]] = [
    ({"bits": 1}, "bits"),
    ({"bits": 33}, "bits"),
    ({"bits": "7"}, "bits"),
    ({"source": ""}, "source"),
    ({"source": 5}, "source"),
]


@pytest.mark.parametrize(("options", "field"), OPTIONS)
def test_options_out_of_range(options: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError) as caught:
        import_controllers(EXAMPLE, "Lead", **options)
    assert caught.value.field == f"import_controllers.{field}"


def test_names_and_channels_of_voices() -> None:
    for voice, channel, field in (("", 1, "voice"), ("a/b", 1, "voice"), ("Lead", 0, "channel")):
        with pytest.raises(InputError) as caught:
            import_controllers([], voice, channel)
        assert caught.value.field == f"import_controllers.{field}"
