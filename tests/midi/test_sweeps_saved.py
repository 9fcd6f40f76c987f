"""Files on disk: their names, and that they are written whole or not at all."""

from __future__ import annotations

import unicodedata
from pathlib import Path

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobpack import files
from knobpack.errors import InputError
from knobpack.midi import SweepFile, sweep_file, sweep_files
from knobpack.words import Snapshot, Surface
from knobpack.words.fields import check_name
from tests.simulation.setups import two_voices


def files_of(*names: str) -> tuple[SweepFile, ...]:
    snapshots = tuple(Snapshot(name) for name in names)
    setup = attrs.evolve(two_voices(), surface=Surface.row(0), routes=(), snapshots=snapshots)
    return sweep_files(setup, {}, seconds=1)


def is_name(text: str) -> bool:
    try:
        check_name("name", text)
    except InputError:
        return False
    return True


@pytest.mark.parametrize(
    ("snapshot", "saved"),
    [
        ("both", "01 both.mid"),
        ("only Pad (high)", "01 only Pad (high).mid"),
        (r"a\b:c*d?e|f<g>h", "01 a_b_c_d_e_f_g_h.mid"),
        ("..", "01 __.mid"),
        ("end.", "01 end_.mid"),
        ("NUL", "01 NUL.mid"),
        ("音色 é", "01 音色 é.mid"),
        ("e\u0301", "01 \u00e9.mid"),
        ("\uff05\uff0f", "01 __.mid"),
        ("é" * 120, f"01 {'é' * 60}.mid"),  # 120 bytes
        ("音" * 120, f"01 {'音' * 40}.mid"),
        ("x" * 119 + " y", f"01 {'x' * 119}.mid"),
    ],
)
def test_a_file_is_called_after_its_snapshot(snapshot: str, saved: str) -> None:
    assert files_of(snapshot)[0].file_name == saved


def test_names_are_sorted_as_the_snapshots_are() -> None:
    found = [each.file_name for each in files_of(*(f"s{n}" for n in range(120)))]
    assert found[0] == "001 s0.mid"
    assert found == sorted(found)
    setup = two_voices()
    for each in sweep_files(setup, {}, seconds=1):
        assert sweep_file(setup, each.snapshot, {}, seconds=1).file_name == each.file_name


@settings(max_examples=60)
@given(st.lists(st.text(max_size=125).filter(is_name), min_size=1, max_size=3, unique=True))
def test_names_are_distinct_and_safe_on_every_system(names: list[str]) -> None:
    found = [each.file_name for each in files_of(*names, *{n.swapcase() for n in names} - {*names})]
    same = {unicodedata.normalize("NFKC", name).casefold() for name in found}
    assert len(same) == len(found)
    for name in found:
        assert len(name.encode()) <= 255
        assert not set(name) & set('<>:"/\\|?*')
        assert name.isprintable()
        assert name.endswith(".mid")
        assert not name[:-4].endswith((" ", "."))


def test_they_are_saved_by_their_names(tmp_path: Path) -> None:
    for each in sweep_files(two_voices(), {"K1": 20}, seconds=1):
        files.save(tmp_path / each.file_name, each)
        assert (tmp_path / each.file_name).read_bytes() == each.data
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names == ["01 both.mid", "02 only Pad.mid", "03 only Lead.mid"]
    with pytest.raises(InputError, match=r"a SweepFile is written to a file that ends in \.mid"):
        files.save(tmp_path / "both.json", each)
