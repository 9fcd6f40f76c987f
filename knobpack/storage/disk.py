"""Disk: files read no further than they may be long, and written whole or not at all."""

from __future__ import annotations

import errno
import os
import secrets
import stat
import unicodedata
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from knobpack.errors import FileError, InputError
from knobpack.storage.strict_json import MOST_BYTES, unchecked

LONGEST_NAME = 120
"""Bytes of a name that are kept, at most; file systems take 255 in all, or fewer."""


def path_of(path: str | os.PathLike[str], more: str = "", where: str = "path") -> Path:
    """A path as one; ``more`` is added to what would be right, ``where`` is the argument.

    Raises:
        InputError: it is none.
    """
    try:
        return Path(path)
    except TypeError:
        right = f"give the path of a file, as text or a Path{more}"
        raise InputError(where, path, right) from None


def read_bytes(path: str | os.PathLike[str]) -> bytes:
    """The bytes of a file, no more than one more than it may have.

    Raises:
        InputError: it cannot be read; the field is the path, the value the reason.
    """
    place = path_of(path)
    try:
        with place.open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        right = "give a file that can be read"
        raise FileError.of(path, error, right) from error


@contextmanager
def of_file(path: str | os.PathLike[str]) -> Iterator[None]:
    """Let what is refused meanwhile say in which file it stands."""
    try:
        yield
    except InputError as error:
        error.file = os.fspath(path)
        raise


def read_json(path: str | os.PathLike[str]) -> object:
    """What stands in a file of JSON, which may still hold what strict JSON cannot.

    Raises:
        InputError: that is no path.
        FileError: it cannot be read, or holds no JSON.
    """
    content = read_bytes(path)
    try:
        return unchecked(content)
    except InputError as error:
        told, _, _ = str(error).partition("; ")
        raise FileError(os.fspath(path), told, error.right) from None


def write(path: str | os.PathLike[str], content: bytes) -> None:
    """Write a file, whole or not at all.

    Raises:
        FileError: it cannot be written.
    """
    path_of(path)
    write_together([(path, content)])


def write_together(contents: Iterable[tuple[str | os.PathLike[str], bytes]]) -> None:
    """Write files, all of them or none: each beside its place first, then each is put there.

    Args:
        contents: the path of each file, and what is to stand in it.

    Raises:
        FileError: one cannot be written.
    """
    places: list[tuple[str | os.PathLike[str], Path, Path]] = []
    now: str | os.PathLike[str] = ""
    try:
        for now, content in contents:
            target = Path(os.path.realpath(now))
            beside = target.with_name(f".{secrets.token_hex(8)}.tmp")
            places.append((now, target, beside))
            _write_beside(beside, target, content)
        while places:
            now, target, beside = places[0]
            beside.replace(target)
            del places[0]
    except (OSError, ValueError) as error:
        right = "give a file that can be written, in a folder that is there"
        raise FileError.of(now, error, right) from error
    finally:
        for _, _, beside in places:
            with suppress(OSError):
                beside.unlink(missing_ok=True)


def numbered_name(place: int, count: int, name: str, ending: str) -> str:
    """The name of one file of several: ``02 only Pad.mid``.

    The number in front keeps names apart that are the same to a file system, and any of them from
    standing for a device; files are sorted by it.

    Args:
        place: of the file among them, counted from 1.
        count: how many there are; so many digits the number has, but two at least.
        name: what it is called. Letters and digits of any script are kept; what else there is and
            may mean something to a file system becomes ``_``.
        ending: what it ends in, with its dot.
    """
    composed = unicodedata.normalize("NFC", name)
    safe = "".join(
        mark if mark in " -_+()," or unicodedata.category(mark)[0] in "LMN" else "_"
        for mark in composed
    )
    cut = safe.encode()[:LONGEST_NAME].decode(errors="ignore").rstrip(" ")
    return f"{place:0{max(2, len(str(count)))}d} {cut}{ending}"


def _write_beside(beside: Path, target: Path, content: bytes) -> None:
    """Write what is to be put in the place of ``target`` in one step, with its mode."""
    if target.is_dir():
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
    if target.exists() and not target.is_file():  # it would be replaced by a file
        raise OSError(errno.EINVAL, "Is a device or a pipe, and no file")
    with beside.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    with suppress(FileNotFoundError):
        beside.chmod(stat.S_IMODE(target.stat().st_mode))
