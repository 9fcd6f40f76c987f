"""Files put where they belong, all of them or none."""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from knobpack.errors import FileError, InputError, Reason
from knobpack.storage.disk import write_together


def write_all(contents: Mapping[Path, bytes], *, force: bool) -> None:
    """Write files, all of them or none, and nothing that is there is replaced unasked.

    A folder that a file is in is made, if that is in one that is there.

    Args:
        contents: what is to stand in each file.
        force: whether files that are there may be replaced.

    Raises:
        InputError: a file is there already.
        FileError: a folder cannot be made, or a file cannot be written.
    """
    there = [path for path in contents if is_there(path)]
    if there and not force:
        right = "give another name, or --force to replace it"
        raise InputError(str(there[0]), Reason("is there already"), right)
    made: list[Path] = []
    try:
        for path in contents:
            if not is_there(path.parent):
                _make(path.parent)
                made.append(path.parent)
        write_together(contents.items())
    except BaseException:
        for folder in made:
            with suppress(OSError):
                folder.rmdir()
        raise


def is_there(path: Path) -> bool:
    """Whether there is something at a path; False where that cannot be found out."""
    try:
        return os.path.lexists(path)
    except ValueError:
        # That it cannot be written either is said when it is tried.
        return False


def _make(folder: Path) -> None:
    try:
        folder.mkdir()
    except (OSError, ValueError) as error:
        right = "give a folder that can be made, in one that is there"
        raise FileError.of(folder, error, right) from error
