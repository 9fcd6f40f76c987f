"""Forms: how values of each type stand in a file, read and described from the types alone.

What a word holds is written once, where the word is defined: its fields, their types, limits,
defaults and what they mean. A :class:`Form` says to a JSON Schema what stands in a file, and makes
the value of what was found to have that shape (:mod:`knobpack.file_shapes`). What a word then
refuses is named from that word; who holds it names it from further out.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from functools import cache, cached_property, reduce
from operator import or_
from types import NoneType, SimpleNamespace, UnionType
from typing import Any, Final, Literal, Union, get_args, get_origin, get_type_hints

import attrs

from knobpack.allocation import Allocation
from knobpack.errors import InputError
from knobpack.file_shapes import DEFINED, check_shape
from knobpack.files.stored import BARE, FORMER, PLAYED, STORED, TAGGED, TAGS, head
from knobpack.files.written import value_to_plain
from knobpack.storage.strict_json import MOST_ITEMS
from knobpack.words import Knob, Layout, Request, Rule, Surface

_ARRAYS: Final = {"NDArray": list, "np": SimpleNamespace(int64=int, float64=float)}
"""What types of numpy are read as, so that numpy need not be there to read the others."""

_LEAVES: Final = {str: "string", int: "integer", bool: "boolean", float: "number"}


class Form:
    """How the values of one type stand in a file; this one, texts and numbers: as they are.

    The words refuse a wrong one themselves; nothing here may turn it into a right one.
    """

    def __init__(self, kind: str = "string") -> None:
        self.kind = kind

    def read(self, value: Any) -> Any:
        """The value that stands in a file, in the shape that the schema says.

        Raises:
            InputError: a word refuses what it holds.
        """
        return value

    def schema(self, limits: Mapping[str, Any]) -> dict[str, Any]:
        """What a JSON Schema says of it.

        Args:
            limits: what a field says of its values beside their type.
        """
        return {"type": self.kind, **limits}


class _Choice(Form):
    """One of a few texts."""

    def __init__(self, texts: tuple[str, ...]) -> None:
        super().__init__()
        self.texts = texts

    def schema(self, limits: Mapping[str, Any]) -> dict[str, Any]:
        return {"type": self.kind, **(limits or {"enum": list(self.texts)})}


class _Unsaid(Form):
    """What a schema says nothing of: it is looked at where it is read."""

    def schema(self, limits: Mapping[str, Any]) -> dict[str, Any]:
        return {**limits}


class _Array(_Unsaid):
    """Numbers in an array of numpy, as lists within lists."""

    def read(self, value: Any) -> Any:
        import numpy as np

        with suppress(ValueError):  # lists of several lengths
            if (found := np.array(value)).dtype.kind in "if":
                return found
        raise InputError("numbers", value, "give numbers, in lists of one length")


class _AnyOf(_Unsaid):
    """One of several, told apart by what is in it."""

    def __init__(self, forms: Iterable[Form]) -> None:
        self.forms = tuple(forms)

    def read(self, value: Any) -> Any:
        for form in self.forms:
            with suppress(InputError):
                check_shape(value, form.schema({}), defined(form))
                return form.read(value)
        raise InputError("value", value, "nothing of the kind can stand here")


class _Around(Form):
    """One that holds others, all of one form."""

    def __init__(self, item: Form) -> None:
        self.item = item


class _Maybe(_Around):
    """One that may be null."""

    def read(self, value: Any) -> Any:
        return None if value is None else self.item.read(value)

    def schema(self, limits: Mapping[str, Any]) -> dict[str, Any]:
        found = self.item.schema(limits)
        if "type" in found:
            return {**found, "type": [found["type"], "null"]}
        return {"oneOf": [found, {"type": "null"}]}


class _Listed(_Around):
    """A list, read as a tuple."""

    def read(self, value: Any) -> tuple[Any, ...]:
        made = []
        for position, item in enumerate(value):
            try:
                made.append(self.item.read(item))
            except InputError as error:
                raise error.under(f"list[{position}]") from None
        return tuple(made)

    def schema(self, limits: Mapping[str, Any]) -> dict[str, Any]:
        items = self.item.schema(limits.get("items", {}))
        return {"type": "array", **limits, "items": items}


class _Knobs(_Listed):
    """Knobs; a number stands for a row of so many, ``K1``, ``K2``, …."""

    def read(self, value: Any) -> tuple[Any, ...]:
        return Surface.row(value).knobs if type(value) is int else super().read(value)

    def schema(self, limits: Mapping[str, Any]) -> dict[str, Any]:
        row = {
            "description": "A row of so many knobs, K1, K2 and so on.",
            "type": "integer",
            "minimum": 0,
            "maximum": MOST_ITEMS,
        }
        return {"oneOf": [super().schema(limits), row]}


class _Named(Form):
    """One that has a definition in the schema, to which others refer by its name."""

    def __init__(self, name: str) -> None:
        self.name = name

    def schema(self, limits: Mapping[str, Any]) -> dict[str, Any]:
        return {**limits, "$ref": f"#/$defs/{self.name}"}

    @property
    def parts(self) -> Iterable[Form]:
        """The forms of what is in it."""
        raise NotImplementedError

    def definition(self) -> dict[str, Any]:
        """The schema itself."""
        raise NotImplementedError


class _Object(_Named):
    """A word, as an object with a key for each of its fields."""

    def __init__(self, word: type[Any], first: Mapping[str, Any] | None = None) -> None:
        self.word = word
        self.first = first or {}
        also = "Edit" if first and word is BARE else ""
        kind = self.first.get("knobpack")
        super().__init__(DEFINED[kind] if kind else word.__name__ + also)

    @cached_property
    def fields(self) -> dict[str, tuple[attrs.Attribute[Any], Form]]:
        """Its fields, and how each stands in a file."""
        types = get_type_hints(self.word, localns=_ARRAYS)
        return {
            each.name: (each, form_of(each.metadata.get("holds", types[each.name])))
            for each in attrs.fields(self.word)
        }

    def read(self, value: Any) -> Any:
        made = {}
        for key, (_, form) in self.fields.items():
            if key in value:
                try:
                    made[key] = form.read(value[key])
                except InputError as error:
                    raise error.under(f"{self.word.__name__}.{key}") from None
        return self.word(**made)

    @property
    def parts(self) -> Iterable[Form]:
        return (form for _, form in self.fields.values())

    def definition(self) -> dict[str, Any]:
        whole, of_field = _meanings(self.word)
        properties = {key: {"const": value} for key, value in self.first.items()}
        for key, (field, form) in self.fields.items():
            found = form.schema(getattr(field.validator, "limits", {}))
            if isinstance(field.default, tuple | str | int | NoneType):
                found["default"] = value_to_plain(field.default, whole=False)
            properties[key] = {"description": of_field.get(key, key), **found}
        told = {"description": "Passed over: of an earlier version."}
        properties |= dict.fromkeys(FORMER.get(self.word, ()), told)
        must = (key for key, (field, _) in self.fields.items() if field.default is attrs.NOTHING)
        return {
            "description": whole,
            "type": "object",
            "properties": properties,
            "required": [*self.first, *must],
            "additionalProperties": False,
        }


class _Allocated(_Object):
    """What is laid out: what was asked and the layout are read, all else is worked out again."""

    def __init__(self, word: type[Any], kind: str, asked: Callable[[], tuple[str, Form]]) -> None:
        super().__init__(word, head(kind))
        self.asked = asked

    @cached_property
    def fields(self) -> dict[str, tuple[attrs.Attribute[Any], Form]]:
        """What was asked alone."""
        key, form = self.asked()
        return {key: (getattr(attrs.fields(self.word), key), form)}

    def read(self, value: Any) -> Any:
        if self.word is Allocation:
            from knobpack.files.allocations import allocation_of_plain

            return allocation_of_plain(value)
        from knobpack.files.laid_out_shows import show_allocation_of_plain

        return show_allocation_of_plain(value, None)

    def definition(self) -> dict[str, Any]:
        return {**super().definition(), "additionalProperties": True}


class _OneOf(_Named):
    """One of several words, which a key tells apart."""

    def __init__(self, key: str) -> None:
        self.key = key
        super().__init__("Played" if key == PLAYED else key.capitalize())
        self.words: dict[str, _Object] = {
            tag: FILES[word] if key == PLAYED else _Object(word, {key: tag})
            for tag, word in TAGGED[key].items()
        }

    def read(self, value: Any) -> Any:
        return self.words[value[self.key]].read(value)

    @property
    def parts(self) -> Iterable[Form]:
        return self.words.values()

    def definition(self) -> dict[str, Any]:
        return {"oneOf": [each.schema({}) for each in self.words.values()]}


FILES: Final[Mapping[Any, _Object]] = {
    **{word: _Object(word, head(tag)) for tag, word in STORED.items()},
    Allocation: _Allocated(Allocation, "allocation", lambda: ("request", FILES[Request])),
}
"""How each word that is stored stands in a file of its own, and an allocation."""


@cache
def show_forms() -> tuple[_Object, _Object]:
    """How a show stands in a file of its own, and one that is laid out."""
    from knobpack.files.shows import SetList  # it reads by these forms
    from knobpack.show import ShowAllocation

    show = _Object(SetList, head("show"))
    return show, _Allocated(ShowAllocation, "show_allocation", lambda: ("show", show))


@cache
def form_of(kind: Any) -> Form:
    """How values of a type stand in a file, inside a word.

    Args:
        kind: str, int, float, bool, a literal of texts, a word or an answer, a union, a tuple of
            such, each of one kind, an array, or one of these or None.
    """
    if kind in _LEAVES:
        return Form(_LEAVES[kind])
    origin, those = get_origin(kind), get_args(kind)
    if origin is tuple:
        return (_Knobs if those[0] is Knob else _Listed)(form_of(those[0]))
    if origin in {Literal, list}:
        return _Choice(those) if origin is Literal else _Array()
    if attrs.has(kind):
        return _of_class(kind)
    if origin not in {Union, UnionType}:
        raise TypeError(f"no file holds values of {kind}")
    if NoneType in those:
        return _Maybe(form_of(reduce(or_, (each for each in those if each is not NoneType))))
    key = next((key for key, tags in TAGGED.items() if {*tags.values()} == {*those}), None)
    return _OneOf(key) if key else _AnyOf(map(form_of, those))


def _of_class(kind: type[Any]) -> Form:
    if kind is Rule:
        return _OneOf("rule")
    if kind.__name__ == "ShowAllocation":  # which need not be there to read the others
        return show_forms()[1]
    if kind in FILES and kind is not Layout:
        return FILES[kind]
    return _Object(kind, dict([TAGS[kind]]) if kind in TAGS and kind is not BARE else None)


@cache
def defined(*forms: Form) -> dict[str, Any]:
    """What a JSON Schema says of all that has a name in some forms."""
    found: dict[str, Any] = {}
    waiting = [*forms]
    while waiting:
        form = waiting.pop(0)
        while isinstance(form, _Around):
            form = form.item
        if isinstance(form, _Named) and form.name not in found:
            found[form.name] = form.definition()
            waiting.extend(form.parts)
    return found


def _meanings(word: type[Any]) -> tuple[str, dict[str, str]]:
    """What a word and its fields mean: the first line of its docstring, and the arguments there."""
    text = inspect.getdoc(word) or ""  # none where Python was told to forget them
    text = re.sub(r"(?::\w+:)?``?([^`]*)``?", r"`\1`", text)
    text = re.sub(r"\bNone\b", "null", text)
    block = re.search(r"^Args:\n((?: .*\n|\n)*)", text + "\n", re.MULTILINE)
    found = re.findall(r"^ {4}(\w+): (.*(?:\n {8}.*)*)", block[1] if block else "", re.MULTILINE)
    meant = {name: " ".join(said.split()) for name, said in found}
    return text.partition("\n")[0], {
        name: told[:1].upper() + told[1:] for name, told in meant.items()
    }
