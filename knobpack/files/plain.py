"""Plain: a word as dict, list, str, int, bool and None alone, as it stands in a file."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cache
from typing import TYPE_CHECKING, Any, Final, TypeAlias, get_args, get_origin

import attrs

from knobpack.allocation import Allocation
from knobpack.errors import InputError
from knobpack.files import strict_json
from knobpack.words import Layout, Request, Rule, Setup
from knobpack.words.rules import RULES

if TYPE_CHECKING:
    from cattrs import ClassValidationError, Converter

VERSION: Final = 1
"""The version of the format that is written, and the only one that is read."""

Word: TypeAlias = Setup | Request | Layout
"""What can be written and read back."""

_Hook: TypeAlias = "Callable[[Any, Any], Any]"

_KINDS: Final[Mapping[str, type[Word]]] = {"setup": Setup, "request": Request, "layout": Layout}
_TAGS: Final[Mapping[str, type[Rule]]] = {rule.__name__.lower(): rule for rule in RULES}


def to_plain(word: Word | Allocation) -> dict[str, Any]:
    """A word in plain form. A field that holds its default is left out.

    Args:
        word: a setup, request, layout or allocation.

    Raises:
        InputError: it is none of these.
    """
    if isinstance(word, Allocation):
        return allocation_to_plain(word)
    for kind, made in _KINDS.items():
        if type(word) is made:
            return {"knobpack": kind, "version": VERSION, **_converter().unstructure(word)}
    raise InputError("word", word, "give a Setup, Request, Layout or Allocation")


def from_plain(data: object) -> Word:
    """A word from its plain form: ``from_plain(to_plain(word)) == word``.

    Args:
        data: dict, list, str, int, bool and None alone.

    Raises:
        InputError: it is not the plain form of a word. The field is the path of what goes wrong,
            such as ``voices[2].destinations[0].travel.start``.
    """
    strict_json.check(data)
    if not isinstance(data, dict):
        raise InputError(strict_json.TOP, data, "give an object")
    body = dict(data)
    kind, version = (body.pop(key, attrs.NOTHING) for key in ("knobpack", "version"))
    if kind == "allocation":
        right = f"an allocation is not read back; give one of {_quoted(_KINDS)}"
        raise InputError("knobpack", kind, right)
    if not isinstance(kind, str) or kind not in _KINDS:
        raise InputError("knobpack", kind, f"say what this is: one of {_quoted(_KINDS)}")
    if type(version) is not int or version != VERSION:
        raise InputError("version", version, f"the versions that can be read are: {VERSION}")
    try:
        return _converter().structure(body, _KINDS[kind])
    except InputError as error:
        raise error.under("") from None


def allocation_to_plain(allocation: Allocation) -> dict[str, Any]:
    """An allocation in plain form, without its request. Defaults are not left out.

    It is for other programs to read; :func:`from_plain` does not.
    """
    plain = _whole_converter().unstructure(allocation)
    return {"knobpack": "allocation", "version": VERSION, **plain}


@cache
def _converter() -> Converter:
    """The converter of all words; made on first use, because cattrs takes 35 ms to import."""
    from cattrs import Converter

    converter = Converter(omit_if_default=True, unstruct_collection_overrides={tuple: list})
    for leaf in (str, int, bool):
        # The words refuse a wrong type themselves; nothing here may turn it into a right one.
        converter.register_structure_hook(leaf, lambda value, _: value)
    converter.register_structure_hook_factory(attrs.has, _object_hook)
    converter.register_structure_hook_factory(_is_tuple, _list_hook)
    converter.register_structure_hook_factory(_is_rule, _rule_hook)
    for tag, rule in _TAGS.items():
        converter.register_unstructure_hook(rule, _tagged(tag, rule, converter))
    return converter


@cache
def _whole_converter() -> Converter:
    """The converter of allocations, which leaves no default out."""
    from cattrs import Converter
    from cattrs.gen import make_dict_unstructure_fn, override

    converter = Converter(unstruct_collection_overrides={tuple: list})
    hook = make_dict_unstructure_fn(Allocation, converter, request=override(omit=True))
    converter.register_unstructure_hook(Allocation, hook)
    return converter


def _is_tuple(kind: Any) -> bool:
    return get_origin(kind) is tuple


def _is_rule(kind: Any) -> bool:
    return bool(kind == Rule)


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
                raise InputError(word + strict_json.key_path(key), value[key], right)
        for key, required in fields.items():
            if required and key not in value:
                raise InputError(f"{word}.{key}", attrs.NOTHING, "this key must be there")
        try:
            return build(value, kind)
        except ClassValidationError as errors:
            raise _first(errors, word) from None

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


def _rule_hook(_: Any, converter: Converter) -> _Hook:
    hooks = {tag: converter.get_structure_hook(rule) for tag, rule in _TAGS.items()}

    def structure(value: Any, _: Any) -> Any:
        if not isinstance(value, dict):
            raise InputError("Rule", value, f'give an object with "rule", one of {_quoted(_TAGS)}')
        tag = value.get("rule", attrs.NOTHING)
        if not isinstance(tag, str) or tag not in _TAGS:
            raise InputError("Rule.rule", tag, f"give one of {_quoted(_TAGS)}")
        body = {key: item for key, item in value.items() if key != "rule"}
        return hooks[tag](body, _TAGS[tag])

    return structure


def _tagged(tag: str, rule: type[Rule], converter: Converter) -> Callable[[Any], dict[str, Any]]:
    from cattrs.gen import make_dict_unstructure_fn

    plain = make_dict_unstructure_fn(rule, converter, _cattrs_omit_if_default=True)
    return lambda word: {"rule": tag, **plain(word)}


def _quoted(names: Iterable[str]) -> str:
    return ", ".join(f'"{name}"' for name in names)
