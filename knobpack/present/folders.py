"""Folders: several files written to one, all of them or none."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path

from knobpack.errors import FileError


def write_all(folder: str, writes: Mapping[str, Callable[[Path], object]]) -> None:
    """Write files to a folder, which is made if it is not there.

    Where one cannot be written, those that were not there before are gone again.

    Args:
        folder: the folder; that which it is in must be there.
        writes: what writes each file, whole or not at all, under the name of the file.

    Raises:
        InputError: the folder cannot be made, or a file cannot be written.
    """
    place = Path(folder)
    made = not is_there(place)
    if made:
        _make(place)
    fresh: list[Path] = []
    try:
        for name, write in writes.items():
            path = place / name
            if not is_there(path):
                fresh.append(path)
            write(path)
    except BaseException:
        for path in fresh:
            with suppress(OSError):
                path.unlink(missing_ok=True)
        if made:
            with suppress(OSError):
                place.rmdir()
        raise


def is_there(path: Path) -> bool:
    """Whether there is something at a path; False where that cannot be found out."""
    try:
        return path.exists()
    except (OSError, ValueError):
        # That it cannot be written either is said when it is tried.
        return False


def _make(folder: Path) -> None:
    try:
        folder.mkdir()
    except (OSError, ValueError) as error:
        right = "give a folder that can be made, in one that is there"
        raise FileError.of(folder, error, right) from error
