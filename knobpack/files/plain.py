"""Plain: a word as dict, list, str, int, bool and None alone, as it stands in a file."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from functools import cache
from types import NoneType, UnionType
from typing import TYPE_CHECKING, Any, Literal, TypeAlias, Union, cast, get_args, get_origin

import attrs

from knobpack import strict_json
from knobpack.allocation import Allocation
from knobpack.errors import InputError
from knobpack.files.stored import STORED, VERSION, Word, word_to_plain
from knobpack.files.tags import EDIT_TAGS, RULE_TAGS
from knobpack.files.written import (
    KINDS,
    Answers,
    allocation_to_plain,
    answer_to_plain,
    answers_to_plain,
)
from knobpack.words import Home, Layout, Request, Rule, Surface
from knobpack.words.asked import Edit
from knobpack.words.fields import MOST_ITEMS
from knobpack.words.names import close, hint

if TYPE_CHECKING:
    from cattrs import ClassValidationError, Converter

    from knobpack.types import Written

_Hook: TypeAlias = "Callable[[Any, Any], Any]"


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
    strict_json.check(data)
    if not isinstance(data, dict):
        raise InputError(strict_json.TOP, data, "give an object")
    kind, body = _headed(data, (*STORED, "allocation"))
    if kind == "allocation":
        return _allocation(body)
    try:
        return _converter().structure(body, STORED[kind])
    except InputError as error:
        raise error.under("") from None


def _allocation(body: dict[str, Any]) -> Allocation:
    """An allocation, from what stands in a file of one."""
    from knobpack.files.allocations import allocation_of_plain, check_keys

    check_keys(body)
    try:
        request = _inner(body["request"], "request")
        laid = {key: body[key] for key in ("routes", "travels") if key in body}
        layers = _layers(body.get("layers", []))
        layout = _converter().structure({**laid, "layers": layers}, Layout)
        return allocation_of_plain(body, request, layout)
    except InputError as error:
        inner = error.under("") if error.field.startswith("Layout") else error
        raise InputError(inner.field or "routes", error.value, error.right) from None


def _inner(data: object, where: str) -> Request:
    """The request that stands in an allocation."""
    if not isinstance(data, dict):
        raise InputError(where, data, "give an object")
    try:
        _, body = _headed(data, ("request",))
        made: Request = _converter().structure(body, Request)
    except InputError as error:
        inner = error.under("") if error.field.startswith("Request") else error
        raise InputError(f"{where}.{inner.field}", error.value, error.right) from None
    return made


def _layers(data: object) -> object:
    """The layers of an allocation as those of a layout: where each voice stands now."""
    if not isinstance(data, list) or not all(isinstance(each, dict) for each in data):
        return data
    return [{"voice": each.get("voice"), "layer": each.get("new")} for each in data]


def _headed(data: dict[str, Any], kinds: Collection[str]) -> tuple[str, dict[str, Any]]:
    """What a word in plain form is, and the rest of it.

    Raises:
        InputError: it is none of these kinds, or of another version.
    """
    body = dict(data)
    kind, version = (body.pop(key, attrs.NOTHING) for key in ("knobpack", "version"))
    if isinstance(kind, str) and kind in KINDS:
        right = f"{'answers are' if kind == 'answers' else f'an {kind} is'} not read back"
        raise InputError("knobpack", kind, f"{right}; give one of {_quoted(kinds)}")
    if not isinstance(kind, str) or kind not in kinds:
        raise InputError("knobpack", kind, f"say what this is: one of {_choice(kind, kinds)}")
    if type(version) is not int or version != VERSION:
        raise InputError("version", version, f"the versions that can be read are: {VERSION}")
    return kind, body


@cache
def _converter() -> Converter:
    """The converter that reads all words; made on first use, because importing cattrs is slow."""
    from cattrs import Converter

    converter = Converter()
    for leaf in (str, int, bool):
        # The words refuse a wrong type themselves; nothing here may turn it into a right one.
        converter.register_structure_hook(leaf, lambda value, _: value)
    converter.register_structure_hook_factory(_is_choice, lambda _: lambda value, _: value)
    converter.register_structure_hook_factory(attrs.has, _object_hook)
    converter.register_structure_hook_factory(lambda kind: kind is Home, _home_hook)
    converter.register_structure_hook_factory(lambda kind: kind is Surface, _surface_hook)
    converter.register_structure_hook_factory(_is_tuple, _list_hook)
    for what, key, tags in ((Rule, "rule", RULE_TAGS), (Edit | None, "edit", EDIT_TAGS)):
        converter.register_structure_hook_factory(_equals(what), _tag_hook(key, tags))
    return converter


def _is_choice(kind: Any) -> bool:
    """Whether it is one of a few texts, or that or none."""
    inner = (each for each in get_args(kind) if each is not NoneType)
    return get_origin(kind) is Literal or (
        get_origin(kind) in {Union, UnionType} and all(get_origin(e) is Literal for e in inner)
    )


def _is_tuple(kind: Any) -> bool:
    return get_origin(kind) is tuple


def _equals(what: Any) -> Callable[[Any], bool]:
    return lambda kind: bool(kind == what)


# Every refusal below is named from the word that was being built, as the words themselves do it;
# who holds that word names it from further out.


def _object_hook(kind: type[Any], converter: Converter) -> _Hook:
    from cattrs import ClassValidationError
    from cattrs.gen import make_dict_structure_fn

    build = make_dict_structure_fn(kind, converter)
    word = kind.__name__
    fields = {field.name: field.default is attrs.NOTHING for field in attrs.fields(kind)}

    def structure(value: Any, _: Any) -> Any:
        if not isinstance(value, dict):
            raise InputError(word, value, f"give an object with the keys {_quoted(fields)}")
        for key in value:
            if key not in fields:
                right = f"this key is not known; the keys are {_quoted(fields)}"
                right += hint(close(key, fields))
                raise InputError(word + strict_json.key_path(key), value[key], right)
        for key, required in fields.items():
            if required and key not in value:
                raise InputError(f"{word}.{key}", attrs.NOTHING, "this key must be there")
        try:
            return build(value, kind)
        except ClassValidationError as errors:
            raise _first(errors, word) from None

    return structure


def _home_hook(kind: type[Any], converter: Converter) -> _Hook:
    """A home, each of whose setups stands as in a file of its own."""
    bare = _object_hook(kind, converter)

    def structure(value: Any, _: Any) -> Any:
        if not isinstance(value, dict):
            return bare(value, kind)
        body = dict(value)
        for key in ("setup", "arrived"):
            if isinstance(body.get(key), dict):
                try:
                    body[key] = _headed(body[key], ("setup",))[1]
                except InputError as error:
                    where = f"{kind.__name__}.{key}.{error.field}"
                    raise InputError(where, error.value, error.right) from None
        return bare(body, kind)

    return structure


def _surface_hook(kind: type[Any], converter: Converter) -> _Hook:
    """A surface; a number in place of its knobs stands for a row of so many, ``K1``, ``K2``, …."""
    bare = _object_hook(kind, converter)

    def structure(value: Any, _: Any) -> Any:
        count = value.get("knobs") if isinstance(value, dict) else None
        if type(count) is not int:
            return bare(value, kind)
        if not 0 <= count <= MOST_ITEMS:
            right = f"give a list of knobs, or how many stand in one row, 0 to {MOST_ITEMS}"
            raise InputError("Surface.knobs", count, right)
        row = [{"name": knob.name, "column": knob.column} for knob in Surface.row(count).knobs]
        return bare({**value, "knobs": row}, kind)

    return structure


def _first(errors: ClassValidationError, word: str) -> Exception:
    """The first refusal: of a field, named in a note, or of the word as a whole."""
    fields, whole = errors.group_exceptions()
    if not fields:
        return whole[0]
    error, note = fields[0]
    return error.under(f"{word}.{note.name}") if isinstance(error, InputError) else error


def _list_hook(kind: Any, converter: Converter) -> _Hook:
    inner = get_args(kind)[0]
    build = converter.get_structure_hook(inner)

    def structure(value: Any, _: Any) -> tuple[Any, ...]:
        if not isinstance(value, list):
            raise InputError("list", value, "give a list")
        made = []
        for position, item in enumerate(value):
            try:
                made.append(build(item, inner))
            except InputError as error:
                raise error.under(f"list[{position}]") from None
        return tuple(made)

    return structure


def _tag_hook(key: str, tags: Mapping[str, type[Any]]) -> Callable[[Any, Converter], _Hook]:
    """What reads the words that a tag under this key tells apart; none may stand for no edit."""
    called, none = key.capitalize(), key == "edit"

    def factory(_: Any, converter: Converter) -> _Hook:
        hooks = {tag: converter.get_structure_hook(word) for tag, word in tags.items()}

        def structure(value: Any, _: Any) -> Any:
            if value is None and none:
                return None
            if not isinstance(value, dict):
                right = f'give an object with "{key}", one of {_quoted(tags)}'
                raise InputError(called, value, right)
            tag = value.get(key, attrs.NOTHING)
            if not isinstance(tag, str) or tag not in tags:
                raise InputError(f"{called}.{key}", tag, f"give one of {_choice(tag, tags)}")
            body = {name: item for name, item in value.items() if name != key}
            return hooks[tag](body, tags[tag])

        return structure

    return factory


def _choice(found: object, names: Collection[str]) -> str:
    """Names to choose from, and those that come close to what was found in place of one."""
    return _quoted(names) + (hint(close(found, names)) if isinstance(found, str) else "")


def _quoted(names: Iterable[str]) -> str:
    return ", ".join(f'"{name}"' for name in names)
