"""Plain: a word as dict, list, str, int, bool and None alone, as it stands in a file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from knobpack.allocation import Allocation
from knobpack.errors import FileError, InputError
from knobpack.file_shapes import check_file
from knobpack.files.forms import FILES
from knobpack.files.stored import STORED, Word, word_to_plain
from knobpack.files.written import (
    Answers,
    allocation_to_plain,
    answer_to_plain,
    answers_to_plain,
)
from knobpack.storage import strict_json

if TYPE_CHECKING:
    from knobpack.show import Show, ShowAllocation
    from knobpack.types import Written


def to_plain(
    word: Word | Allocation | Show | Written | Mapping[str, Written] | Sequence[Written] | Answers,
) -> dict[str, Any]:
    """A word in plain form. A field that holds its default is left out.

    That of an allocation or answer leaves out no default. That of an answer is not read back.

    Args:
        word: a setup, request, layout, allocation or show, an answer (what was worked out about
            setups among them, and a tuple of jumps), or answers, in a list or each under what was
            asked.

    Returns:
        A new dict of dict, list, str, int, bool and None alone.

    Raises:
        InputError: it is none of these.
    """
    if type(word) in STORED.values():
        return word_to_plain(cast("Word", word))
    if isinstance(word, Allocation):
        return allocation_to_plain(word)
    if isinstance(word, Mapping | list | Answers):
        return answers_to_plain(word)
    if type(word).__module__ == "knobpack.show.song":
        from knobpack.files.shows import show_to_plain
        from knobpack.show import Show

        if isinstance(word, Show):
            return show_to_plain(word)
    if type(word).__module__ == "knobpack.show.answer":
        from knobpack.files.laid_out_shows import show_allocation_to_plain
        from knobpack.show import ShowAllocation

        if isinstance(word, ShowAllocation):
            return show_allocation_to_plain(word)
    return answer_to_plain(cast("Written", word))


def from_plain(data: object) -> Word | Allocation | Show | ShowAllocation:
    """A word from its plain form: ``from_plain(to_plain(word)) == word``.

    Args:
        data: dict, list, str, int, bool and None alone.

    Returns:
        The setup, request, layout, allocation or show, or the show laid out. What is said of a
        layout is checked by the plain checker; what was proven is taken as it stands.

    Raises:
        InputError: it is not the plain form of one of these. The field is the path of what goes
            wrong, such as ``voices[2].destinations[0].travel.start``.
    """
    return within(data, None)


def within(data: object, folder: Path | None) -> Word | Allocation | Show | ShowAllocation:
    """As :func:`from_plain`; a show may name files, which lie in a folder."""
    strict_json.check_strict(data)
    kind = check_file(data)
    try:
        if kind == "show":
            from knobpack.files.shows import show_of_plain

            return show_of_plain(cast("dict[str, Any]", data), folder)
        if kind == "show_allocation":
            from knobpack.files.laid_out_shows import show_allocation_of_plain

            return show_allocation_of_plain(cast("dict[str, Any]", data), folder)
        made: Word | Allocation = FILES[STORED.get(kind, Allocation)].read(data)
    except InputError as error:
        if error.file is not None or isinstance(error, FileError):
            raise  # another file is meant
        raise error.under("") from None
    return made
