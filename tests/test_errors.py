"""What is raised: one tree, which Python's own kinds of error cut across."""

from __future__ import annotations

import errno
import pickle
import re
from pathlib import Path
from typing import Any

import pytest

import knobpack.clash
import knobpack.errors
import knobpack.many
from knobpack import Destination, Layout, Request, Surface, Travel, Voice, files
from knobpack.errors import (
    Fault,
    FileError,
    InputError,
    KnobpackError,
    MissingExtra,
    NoLayoutFound,
)


def drawn() -> dict[str, tuple[str, str]]:
    """The tree of the docstring: for each error what it is under and what of Python's it is."""
    found, above = {}, ["KnobpackError"]
    text = str(knobpack.errors.__doc__)
    for lead, name, other in re.findall(r"^    (.*[├└]── )(\w+)(?:\((\w+)\))?", text, re.MULTILINE):
        depth = len(lead) // 4
        above = [*above[:depth], name]
        found[name] = (above[depth - 1], other or "Exception")
    return found


def test_the_tree_is_as_drawn() -> None:
    places = [vars(each) for each in (knobpack.errors, knobpack.clash, knobpack.many)]
    there = {
        name: value
        for place in places
        for name, value in place.items()
        if isinstance(value, type) and issubclass(value, KnobpackError)
    }
    tree = drawn()
    assert set(tree) == set(there) - {"KnobpackError"}
    for name, (above, other) in tree.items():
        bases = [each.__name__ for each in there[name].__mro__[1:]]
        assert bases[0] == above
        assert other in bases


def test_a_file_that_cannot_be_read_or_written_is_an_error_of_the_system_too(
    tmp_path: Path,
) -> None:
    missing = tmp_path / "no" / "such.json"
    for call in (files.load, lambda path: files.save(path, Layout())):
        with pytest.raises(OSError, match="No such file") as caught:
            call(missing)
        error = caught.value
        assert isinstance(error, FileError)
        assert isinstance(error, InputError)
        assert (error.filename, error.errno) == (str(missing), errno.ENOENT)
        assert error.field == error.filename
        assert str(error.value) == error.strerror
    with pytest.raises(FileError) as other:
        files.load("no\0path")
    assert other.value.errno is None


def test_what_a_file_holds_is_no_error_of_the_system(tmp_path: Path) -> None:
    path = tmp_path / "word.json"
    path.write_text('{"knobpack": "setup"}')
    with pytest.raises(InputError) as caught:
        files.load(path)
    assert not isinstance(caught.value, OSError)
    path.write_text("{,}")  # no JSON: it cannot be read at all
    with pytest.raises(FileError) as unread:
        files.load(path)
    assert unread.value.errno is None


@pytest.mark.parametrize(
    "error",
    [
        InputError("Surface.bits", 1, "give more"),
        FileError("all.json", "No such file or directory", "give another", errno.ENOENT),
        MissingExtra("pictures", "matplotlib", "pictures"),
        Fault("one and one is three"),
        NoLayoutFound("effort"),
        knobpack.many.NotAnswered("a worker was lost"),
    ],
)
def test_an_error_comes_back_whole_from_another_process(error: KnobpackError) -> None:
    back = pickle.loads(pickle.dumps(error))  # noqa: S301
    assert type(back) is type(error)
    assert str(back) == str(error)
    assert back.args == error.args
    assert vars(back) == vars(error)


def test_a_missing_extra_and_a_fault_say_what_to_do() -> None:
    error = MissingExtra("pictures", "matplotlib", "pictures")
    assert error.msg == str(error)
    assert str(error) == ("pictures need matplotlib: python -m pip install 'knobpack[pictures]'")
    assert (error.extra, error.name) == ("pictures", "matplotlib")
    assert isinstance(error, ImportError)
    assert str(Fault("it broke")).startswith("it broke; this is a fault of knobpack's own")
    assert issubclass(Fault, RuntimeError)


def test_a_long_word_is_told_by_its_kind_and_name() -> None:
    voice = Voice("Reed organ", (Destination("level"), Destination("drive")))
    wrong: Any = voice
    for value, told in (
        (voice, "the Voice 'Reed organ'"),
        ((voice, voice), "a list of 2 that begins with the Voice 'Reed organ'"),
        (Layout.of({f"K{n}": [f"Pad/{n}"] for n in range(9)}), "a Layout"),
        (Travel(0, 64), "Travel(start=0, end=64)"),
    ):
        assert str(InputError("a field", value, "else")) == f"a field: {told} will not do; else"
    with pytest.raises(InputError, match=r"^Request\.voices: the Voice 'Reed organ' will not do"):
        Request(Surface.row(2), wrong)
