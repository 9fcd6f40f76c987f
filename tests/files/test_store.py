"""Files: the round trip, and writing whole or not at all."""

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO

import attrs
import pytest
from hypothesis import given

from knobpack import tables
from knobpack.errors import FileError, InputError
from knobpack.files import (
    dumps,
    from_plain,
    load,
    load_request,
    load_setup,
    load_show,
    loads,
    save,
    to_plain,
)
from knobpack.limits import Limits
from knobpack.words import (
    Destination,
    Knob,
    KnobTravel,
    Layout,
    Request,
    Route,
    Setup,
    Surface,
    Travel,
    Voice,
    VoiceLayer,
)
from knobpack.words.fields import MOST_ITEMS
from tests.samples import REQUEST, SETUP
from tests.words_strategies import layouts, requests, setups


def names_in(folder: Path) -> list[str]:
    return [path.name for path in folder.iterdir()]


@given(requests() | setups() | layouts())
def test_what_is_written_is_read_back_the_same(word: Request | Setup | Layout) -> None:
    text = dumps(word)
    again = loads(text)
    assert again == word
    assert type(again) is type(word)
    assert dumps(again) == text
    assert loads(text.encode()) == word
    assert from_plain(to_plain(word)) == word


def test_a_file_is_short_and_readable() -> None:
    layout = Layout((Route("Drône/höhe", "K1"),))
    assert dumps(layout) == (
        '{\n  "knobpack": "layout",\n  "version": 1,\n  "routes": [\n    {\n'
        '      "destination": "Drône/höhe",\n      "knob": "K1"\n    }\n  ]\n}\n'
    )


def test_defaults_are_left_out_and_may_be_written_all_the_same() -> None:
    bare = Request(Surface((Knob("K1"),)), (Voice("Pad", (Destination("cutoff"),)),))
    plain = to_plain(bare)
    assert plain == {
        "knobpack": "request",
        "version": 1,
        "surface": {"knobs": [{"name": "K1"}]},
        "voices": [{"name": "Pad", "destinations": [{"name": "cutoff"}]}],
    }
    # json writes the tuples as lists.
    full = json.dumps({"knobpack": "request", "version": 1, **attrs.asdict(bare)})
    assert '"kind": "cutoff"' in full
    assert '"snapshots": null' in full
    assert loads(full) == bare


@pytest.mark.parametrize("mark", ["\ufeff", ""])
def test_a_byte_order_mark_is_passed_over(mark: str) -> None:
    # RFC 8259 §8.1: "MAY ignore the presence of a byte order mark".
    assert loads(mark + dumps(REQUEST)) == REQUEST
    assert loads((mark + dumps(REQUEST)).encode()) == REQUEST


def test_only_a_word_is_written() -> None:
    with pytest.raises(InputError, match="give a Setup, Request, Layout, Allocation or Show"):
        dumps(object())  # type: ignore[arg-type]
    with pytest.raises(InputError, match="give a Setup, Request, Layout, Allocation or Show"):
        save("bytes.bin", b"bytes")  # type: ignore[arg-type]


def test_what_could_not_be_read_back_is_not_written() -> None:
    name = "é" * 110  # two bytes each
    layout = Layout(
        tuple(Route(f"{name}{i}/{name}", name) for i in range(MOST_ITEMS)),
        tuple(KnobTravel(f"{name}{i}", Travel(0, 1)) for i in range(MOST_ITEMS)),
        tuple(VoiceLayer(f"{name}{i}", 1) for i in range(MOST_ITEMS)),
    )
    with pytest.raises(InputError, match="at most 8,000,000 bytes") as caught:
        dumps(layout)
    assert caught.value.field == "size"


def test_a_word_is_saved_and_loaded(tmp_path: Path) -> None:
    path = tmp_path / "höhe.json"
    save(path, REQUEST)
    assert path.read_bytes() == dumps(REQUEST).encode()
    assert load(path) == load_request(str(path)) == REQUEST
    save(path, SETUP)
    assert load(path) == load_setup(path) == SETUP
    assert names_in(tmp_path) == ["höhe.json"]


def test_another_word_than_was_asked_for_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "word.json"
    save(path, SETUP)
    with pytest.raises(FileError, match="holds a setup; give a file that holds a request"):
        load_request(path)
    for word in (REQUEST, Layout()):
        save(path, word)
        with pytest.raises(FileError, match="give a file that holds a setup") as caught:
            load_setup(path)
        assert caught.value.filename == str(path)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('{"knobpack": "sho", "version": 1}', "holds what it calls 'sho'; .*; close to it: show"),
        ("{}", 'has no key "knobpack"; say what this is: one of "setup"'),
        ("[]", "holds no object; give an object"),
    ],
)
def test_a_file_of_another_sort_is_a_file_that_cannot_be_read(
    text: str, told: str, tmp_path: Path
) -> None:
    path = tmp_path / "word.json"
    path.write_text(text)
    with pytest.raises(FileError, match=f"word.json: {told}") as caught:
        load(path)
    assert caught.value.filename == str(path)
    with pytest.raises(InputError) as plain:
        loads(text)
    assert not isinstance(plain.value, FileError)


def test_of_a_table_it_is_said_what_reads_it(tmp_path: Path) -> None:
    path = tmp_path / "evening.csv"
    with pytest.raises(FileError, match="give a file that can be read"):
        load(path)
    save(path, SETUP)
    with pytest.raises(FileError, match=r"holds a table; knobpack\.tables\.load reads it"):
        load(path)
    assert tables.load(path, SETUP) == SETUP


def test_an_error_in_a_file_names_the_file(tmp_path: Path) -> None:
    path = tmp_path / "word.json"
    path.write_text(dumps(Layout((Route("a/b", "K1"),))).replace('"K1"', "1"))
    with pytest.raises(InputError) as caught:
        load(path)
    assert caught.value.field == "routes[0].knob"
    assert str(caught.value).endswith(f"; in the file {str(path)!r}")


@pytest.mark.parametrize("name", ["missing.json", ".", "missing/word.json", "\0"])
def test_a_file_that_cannot_be_read_or_written_is_bad_input(tmp_path: Path, name: str) -> None:
    path = f"{tmp_path}/{name}"
    with pytest.raises(InputError, match="give a file that can be read") as caught:
        load(path)
    assert caught.value.field == path
    assert isinstance(caught.value.value, str)
    assert caught.value.value
    if name != "missing.json":
        with pytest.raises(InputError, match="give a file that can be written") as caught:
            save(path, REQUEST)
        assert caught.value.field == path
        assert names_in(tmp_path) == []


def test_a_file_too_long_is_not_read_whole(tmp_path: Path) -> None:
    path = tmp_path / "long.json"
    with path.open("wb") as file:
        file.truncate(2**40)  # a sparse file: to read it whole would take all memory
    with pytest.raises(InputError, match="at most 8,000,000 bytes") as caught:
        load(path)
    assert caught.value.field == str(path)


def test_text_that_is_no_json_is_a_file_that_cannot_be_read(tmp_path: Path) -> None:
    path = tmp_path / "broken.json"
    path.write_text('{"knobpack":')
    for read in (load, load_setup, load_show):
        with pytest.raises(FileError, match=r"line 1, column 13.* not JSON") as caught:
            read(path)
        assert caught.value.filename == caught.value.field == str(path)


class HalfWritten:
    """A file that takes half of what is written, then fails as a full disk does."""

    def __init__(self, file: BinaryIO) -> None:
        self.file = file

    def __enter__(self) -> "HalfWritten":
        return self

    def __exit__(self, *_: object) -> None:
        self.file.close()

    def write(self, content: bytes) -> int:
        """Write half."""
        self.file.write(content[: len(content) // 2])
        self.file.flush()
        raise OSError(28, "No space left on device")


def fail_to_write(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = Path.open

    def opened(path: Path, mode: str) -> HalfWritten:
        assert mode == "xb"
        return HalfWritten(plain(path, "xb"))

    monkeypatch.setattr(Path, "open", opened)


def fail_to_sync(monkeypatch: pytest.MonkeyPatch) -> None:
    def sync(_: int) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "fsync", sync)


def fail_to_replace(monkeypatch: pytest.MonkeyPatch) -> None:
    def replace(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "replace", replace)


@pytest.mark.parametrize("fail", [fail_to_write, fail_to_sync, fail_to_replace])
@pytest.mark.parametrize("old", [b"old", None])
def test_a_failure_leaves_the_old_file_and_no_litter(
    fail: Callable[[pytest.MonkeyPatch], None], old: bytes | None, tmp_path: Path
) -> None:
    path = tmp_path / "word.json"
    if old is not None:
        path.write_bytes(old)
    with pytest.MonkeyPatch.context() as patch:
        fail(patch)
        with pytest.raises(InputError, match=r"No space|Input/output|Permission") as caught:
            save(path, REQUEST)
    assert caught.value.field == str(path)
    assert isinstance(caught.value.__cause__, OSError)
    assert names_in(tmp_path) == ([] if old is None else ["word.json"])
    assert old is None or path.read_bytes() == old


def test_an_interruption_leaves_the_old_file_and_no_litter(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupt(_: int) -> None:
        raise KeyboardInterrupt

    path = tmp_path / "word.json"
    path.write_bytes(b"old")
    monkeypatch.setattr(os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        save(path, REQUEST)
    assert names_in(tmp_path) == ["word.json"]
    assert path.read_bytes() == b"old"


def test_a_word_that_cannot_be_written_leaves_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "word.json"
    path.write_bytes(b"old")
    with pytest.raises(InputError):
        save(path, Limits())
    assert path.read_bytes() == b"old"


def test_all_is_on_the_disk_before_the_old_file_goes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "word.json"
    path.write_bytes(b"old")
    seen: list[tuple[str, bool]] = []
    plain_sync, plain_replace = os.fsync, os.replace

    def sync(number: int) -> None:
        plain_sync(number)
        seen.append(("sync", os.fstat(number).st_size == len(dumps(REQUEST).encode())))

    def replace(source: Path, target: Path) -> None:
        seen.append(("replace", source.parent == target.parent == tmp_path.resolve()))
        plain_replace(source, target)

    monkeypatch.setattr(os, "fsync", sync)
    monkeypatch.setattr(os, "replace", replace)
    save(path, REQUEST)
    assert seen == [("sync", True), ("replace", True)]
    assert load(path) == REQUEST


@pytest.mark.skipif(os.name != "posix", reason="POSIX file modes and links")
def test_modes_and_links_stay_as_they_are(tmp_path: Path) -> None:
    mask = os.umask(0o027)
    try:
        save(tmp_path / "new.json", REQUEST)
    finally:
        os.umask(mask)
    assert (tmp_path / "new.json").stat().st_mode & 0o777 == 0o640
    kept = tmp_path / "kept.json"
    kept.touch()
    kept.chmod(0o604)
    (tmp_path / "link.json").symlink_to(kept)
    save(tmp_path / "link.json", REQUEST)
    assert (tmp_path / "link.json").is_symlink()
    assert kept.stat().st_mode & 0o777 == 0o604
    assert load(kept) == REQUEST


def test_the_path_comes_first(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="; what is saved comes after it") as caught:
        save(REQUEST, tmp_path / "word.json")  # type: ignore[arg-type]
    assert caught.value.field == "save.path"
    assert list(tmp_path.iterdir()) == []
