"""Names that a file holds, as it was read: those of the words that are made of it."""

from __future__ import annotations

from pathlib import Path

import attrs
import pytest

from benchmarks.generator import varied
from knobpack import Request, Setup, Surface, files, tables
from knobpack.allocator import allocate_request
from knobpack.command.held_names import names_held, names_in_table
from knobpack.command.main import main
from knobpack.command.names import part
from knobpack.errors import InputError
from knobpack.files import to_plain
from knobpack.present.demo import demo_request, demo_setups
from knobpack.tables.delimited_text import rows_of
from knobpack.tables.grid import grid
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
def test_the_names_in_a_table_are_those_of_its_setup(
    setup: Setup, delimiter: str, tmp_path: Path
) -> None:
    path = tmp_path / "held.csv"
    path.write_bytes(tables.dumps(setup, delimiter).encode())
    held = tables.load(path)
    names = {sort: each for sort, each in names_held(to_plain(held)).items() if sort != "songs"}
    name, found = names_in_table(grid(rows_of(path.read_bytes())))
    assert name == held.name
    assert {sort: sorted({*each}) for sort, each in found.items()} == {
        sort: sorted({*each}) for sort, each in names.items()
    }


def test_a_table_without_a_name_and_what_a_spreadsheet_quotes() -> None:
    text = b'"Knob", Voice ,destination\r\nK1,"Organ, soft",level\r\n"K2",Bass\r\n,,\r\n'
    name, found = names_in_table(grid(rows_of(text)))
    assert (name, found["voices"]) == (None, ["Organ, soft", "Bass"])
    assert found["destinations"] == ["Organ, soft/level"]


@pytest.mark.parametrize("value", ["Brass", "K99", "everthing", "17", "only Bss", "voice Bsas"])
@pytest.mark.parametrize("firm", [True, False])
def test_a_part_that_names_nothing_is_refused_as_the_request_would(
    value: str, firm: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    request = attrs.evolve(SMALL, snapshots=SMALL.played if firm else None)
    files.save(tmp_path / "small.json", request)
    assert main(["ask", str(tmp_path / "small.json"), "without", value]) == 2
    with pytest.raises(InputError) as refused:
        part("without", value, request)
    assert capsys.readouterr().err == f"knobpack: {refused.value}\n"


def test_a_name_that_no_table_holds_is_refused_with_what_comes_close(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "small.csv"
    files.save(path, allocate_request(SMALL).setup("Small"))
    name = next(iter(SMALL.by_full_name))
    assert main(["ask", str(path), "why", f"{name}x"]) == 2
    assert f"close to it: {name}" in capsys.readouterr().err
    knob = SMALL.surface.knob_names[0]
    assert main(["edit", str(path), "out-of-use", f"{knob}9"]) == 2
    assert f"'{knob}9' will not do; name a knob" in capsys.readouterr().err
