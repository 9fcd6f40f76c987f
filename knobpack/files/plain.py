"""Plain: what is saved as dict, list, str, numbers, bool and None alone, and made of that again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias, cast

from knobpack.allocation import Allocation
from knobpack.errors import FileError, InputError
from knobpack.file_shapes import DEFINED, SEALED, check_file
from knobpack.files.forms import FILES
from knobpack.files.stored import STORED, Word
from knobpack.files.written import Answers
from knobpack.storage import strict_json

if TYPE_CHECKING:
    import networkx as nx

    from knobpack.show import Show
    from knobpack.text.shown import Shown
    from knobpack.types import Written

_One: TypeAlias = "Word | Allocation | Show | Written | Shown | nx.Graph[str]"
Loaded: TypeAlias = "_One | list[_One] | dict[str, Loaded] | Answers"
"""What can be read back."""


def from_plain(data: object) -> Loaded:
    """Whatever was saved, from its plain form; several in a tuple are a list now.

    Args:
        data: dict, list, str, numbers, bool and None alone.

    Returns:
        The setup, request, layout, allocation or show, or the show laid out; the answer, other
        value or graph; or several of these in a list or dict. What is said of a layout is checked
        by the plain checker; what was proven is taken as it stands.

    Raises:
        InputError: it is not the plain form of one of these. The field is the path of what goes
            wrong, such as ``voices[2].destinations[0].travel.start``.
    """
    return within(data, None)


def within(data: object, folder: Path | None) -> Loaded:
    """As :func:`from_plain`; a show may name files, which lie in a folder."""
    sealed = isinstance(data, dict) and str(data.get("knobpack")) in SEALED
    strict_json.check_strict(data, fractions=sealed)
    kind, found = check_file(data, {**DEFINED, **SEALED}), cast("dict[str, Any]", data)
    if sealed:
        from knobpack.files.answers import sealed_of_plain

        return cast("Loaded", sealed_of_plain(found))
    try:
        if kind == "show":
            from knobpack.files.shows import show_of_plain

            return show_of_plain(found, folder)
        if kind == "show_allocation":
            from knobpack.files.laid_out_shows import show_allocation_of_plain

            return show_allocation_of_plain(found, folder)
        made: Word | Allocation = FILES[STORED.get(kind, Allocation)].read(data)
    except InputError as error:
        if error.file is not None or isinstance(error, FileError):
            raise  # another file is meant
        raise error.under("") from None
    return made
