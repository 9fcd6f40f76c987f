"""Plain: a word as dict, list, str, int, bool and None alone, as it stands in a file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, cast

from knobpack.allocation import Allocation
from knobpack.errors import InputError
from knobpack.file_shapes import ALLOCATION, check_file, check_word
from knobpack.files.forms import FILES, form_of
from knobpack.files.stored import STORED, Word, head, word_to_plain
from knobpack.files.written import (
    Answers,
    allocation_to_plain,
    answer_to_plain,
    answers_to_plain,
)
from knobpack.storage import strict_json
from knobpack.words import Layout, Request

if TYPE_CHECKING:
    from knobpack.types import Written


def to_plain(
    word: Word | Allocation | Written | Mapping[str, Written] | Answers,
) -> dict[str, Any]:
    """A word in plain form. A field that holds its default is left out.

    That of an allocation or answer leaves out no default. That of an answer is not read back.

    Args:
        word: a setup, request, layout or allocation, an answer (what was worked out about
            setups among them, and a tuple of jumps), or answers, each under what was asked.

    Returns:
        A new dict of dict, list, str, int, bool and None alone.

    Raises:
        InputError: it is none of these.
    """
    if type(word) in STORED.values():
        return word_to_plain(cast("Word", word))
    if isinstance(word, Allocation):
        return allocation_to_plain(word)
    if isinstance(word, Mapping | Answers):
        return answers_to_plain(word)
    return answer_to_plain(cast("Written", word))


def from_plain(data: object) -> Word | Allocation:
    """A word from its plain form: ``from_plain(to_plain(word)) == word``.

    Args:
        data: dict, list, str, int, bool and None alone.

    Returns:
        The setup, request, layout or allocation. What an allocation says is checked by the plain
        checker; what was proven is taken as it stands.

    Raises:
        InputError: it is not the plain form of one of these. The field is the path of what goes
            wrong, such as ``voices[2].destinations[0].travel.start``.
    """
    strict_json.check_strict(data)
    kind = check_file(data)
    plain = cast("dict[str, Any]", data)
    if kind == ALLOCATION:
        return _allocation(plain)
    try:
        word: Word = FILES[STORED[kind]].read(plain)
    except InputError as error:
        raise error.under("") from None
    return word


def _allocation(data: dict[str, Any]) -> Allocation:
    """An allocation, from what stands in a file of one."""
    from knobpack.files.allocations import WRITTEN_BEFORE, allocation_of_plain, check_keys

    passed = (*head(ALLOCATION), *WRITTEN_BEFORE)
    body = {key: each for key, each in data.items() if key not in passed}
    check_keys(body)
    try:
        request = FILES[Request].read(body["request"])
    except InputError as error:
        raise error.under("request") from None
    laid: dict[str, Any] = {key: body[key] for key in ("routes", "travels") if key in body}
    laid["layers"] = _layers(body.get("layers", []))
    check_word("Layout", {**head("layout"), **laid})
    try:
        layout = form_of(Layout).read(laid)
        return allocation_of_plain(body, request, layout)
    except InputError as error:
        inner = error.under("") if error.field.startswith("Layout") else error
        raise InputError(inner.field or "routes", error.value, error.right) from None


def _layers(data: object) -> object:
    """The layers of an allocation as those of a layout: where each voice stands now."""
    if not isinstance(data, list) or not all(isinstance(each, dict) for each in data):
        return data
    return [{"voice": each.get("voice"), "layer": each.get("new")} for each in data]
