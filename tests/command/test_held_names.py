"""Names that a file holds, as it was read: those of the words that are made of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchmarks.generator import varied
from knobpack import Request, Setup, Surface, files, tables
from knobpack.allocator import allocate_request
from knobpack.command.held_names import names_held
from knobpack.command.names_in_table import voices_in_table
from knobpack.errors import InputError
from knobpack.files import to_plain
from knobpack.present.demo import demo_request, demo_setups
from tests.command.samples_of_command import SMALL

HELD: list[Request | Setup] = [
    demo_request(),
    *demo_setups().values(),
    *(varied(seed, 6) for seed in range(8)),
    allocate_request(SMALL).setup("Small"),
]


@pytest.mark.parametrize("word", HELD)
def test_the_names_in_a_file_are_those_of_its_words(word: Request | Setup) -> None:
    held = names_held(to_plain(word))
    assert held["knobs"] == list(word.surface.knob_names)
    assert held["voices"] == [voice.name for voice in word.voices]
    assert held["groups"] == [group.name for group in word.groups]
    assert held["snapshots"] == [snapshot.name for snapshot in word.snapshots or ()]
    full = [voice.full_name(each) for voice in word.voices for each in voice.destinations]
    assert held["destinations"] == full
    assert held["sources"] == [voice.source for voice in word.voices if voice.source is not None]


def test_an_allocation_holds_the_names_of_its_request() -> None:
    assert names_held(to_plain(allocate_request(SMALL))) == names_held(to_plain(SMALL))


def test_a_number_of_knobs_stands_for_their_names() -> None:
    plain = {"knobpack": "request", "version": 1, "surface": {"knobs": 3}}
    assert names_held(plain)["knobs"] == list(Surface.row(3).knob_names)


def test_what_is_no_name_is_left_to_the_words() -> None:
    wrong = to_plain(SMALL)
    wrong["voices"][0]["name"] = 3
    assert len(names_held(wrong)["voices"]) == len(SMALL.voices) - 1
    with pytest.raises(InputError, match="a name is text"):
        files.from_plain(wrong)
    assert not any(names_held({"knobpack": "allocation"}).values())


@pytest.mark.parametrize("delimiter", tables.DELIMITERS)
@pytest.mark.parametrize("setup", [word for word in HELD if isinstance(word, Setup)])
def test_the_voices_in_a_table_are_those_of_its_setup(
    setup: Setup, delimiter: str, tmp_path: Path
) -> None:
    path = tmp_path / "held.csv"
    path.write_bytes(tables.dumps(setup, delimiter).encode())
    held = tables.load(path)
    assert voices_in_table(str(path)) == (held.name, [voice.name for voice in held.voices])


def test_a_table_without_a_name_and_what_a_spreadsheet_quotes(tmp_path: Path) -> None:
    path = tmp_path / "held.csv"
    path.write_bytes(
        b'"Knob", Voice ,destination\r\nK1,"Organ, soft",level\r\n"K\n2",Bass\r\n,,\r\n'
    )
    assert voices_in_table(str(path)) == (None, ["Organ, soft", "Bass"])


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"knob;voice\nK1;Organ\n",
        b"sep=;\nknob;voice;destination\nK1;Organ;level\n",
        b"knob;voice;destination\nK1;'12;level\n",
        b"knob;voice;destination;voice\nK1;Organ;level;Bass\n",
        b'knob;voice;destination\nK1;"Organ;level\n',
        "knob;voice;destination\nK1;Orgel-Höhe;level\n".encode("latin-1"),
    ],
)
def test_a_table_that_takes_more_is_left_to_what_reads_it(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "held.csv"
    path.write_bytes(content)
    assert voices_in_table(str(path)) is None
    assert voices_in_table(str(tmp_path / "none.csv")) is None
