"""The fields that the words are made of: each refuses a wrong value where it is built."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable, Sequence
from typing import Any

import attrs
from attrs import validators

from knobpack.errors import InputError

LONGEST_NAME = 120
"""Characters in a name, at most (of a voice and of its destination each, in a full name)."""

MOST_ITEMS = 10_000
"""Items in any one list of a request, at most: more is a mistake, not a setup."""

HIGHEST_WEIGHT = 10_000
"""A weight, at most: so that no sum of costs leaves the range the solver is exact in."""

_CALLED = {str: "text", int: "a whole number", bool: "true or false"}

Validator = Callable[[Any, "attrs.Attribute[Any]", Any], None]


def name(
    *,
    slash: bool = False,
    optional: bool = False,
    default: Any = attrs.NOTHING,
    longest: int = LONGEST_NAME,
) -> Any:
    """A field that holds a name (with ``slash``: a name that may say ``voice/destination``)."""
    check = _validate(lambda where, value: check_name(where, value, slash=slash, longest=longest))
    return _field(check, optional, default)


def label() -> Any:
    """A field that holds a label: text of the length of a name, in which a slash means nothing."""
    return _field(_validate(check_label), False, attrs.NOTHING)


def choice(words: Sequence[str], default: str | None = None) -> Any:
    """A field that holds one of some words; without a default it may be None."""
    none = ", or none" if default is None else ""

    def check(where: str, value: Any) -> None:
        if not isinstance(value, str) or value not in words:
            raise InputError(where, value, f"give one of {', '.join(map(repr, words))}{none}")

    return _field(_validate(check), default is None, default or attrs.NOTHING)


def whole(
    low: int, high: int, *, optional: bool = False, default: Any = attrs.NOTHING, unit: str = ""
) -> Any:
    """A field that holds a whole number from ``low`` to ``high``."""
    check = _validate(lambda where, value: check_whole(where, value, low, high, unit))
    return _field(check, optional, default)


def flag(default: bool) -> Any:
    """A field that holds true or false."""
    return _field(_validate(lambda where, value: check_kind(where, value, bool)), False, default)


def one(kind: type[Any], *, optional: bool = False, default: Any = attrs.NOTHING) -> Any:
    """A field that holds one value of a word."""
    check = _validate(lambda where, value: check_kind(where, value, kind))
    return _field(check, optional, default)


def one_of_later(kind: Callable[[], type[Any]]) -> Any:
    """A field that holds one value of a word that is defined later."""
    return _field(
        _validate(lambda where, value: check_kind(where, value, kind())), False, attrs.NOTHING
    )


def many(*kinds: type[Any], optional: bool = False, default: Any = ()) -> Any:
    """A field that holds a tuple of words; any iterable but text is taken."""
    check = _validate(lambda where, value: check_items(where, value, kinds))
    taken = f"Iterable[{' | '.join(kind.__name__ for kind in kinds)}]"
    return _field(check, optional, default, _converter(as_tuple, taken, optional))


def names(
    *,
    slash: bool = False,
    least: int = 0,
    optional: bool = False,
    longest: int = LONGEST_NAME,
) -> Any:
    """A field that holds different names; one name alone may be given as text."""

    def check(where: str, value: Any) -> None:
        check_items(where, value, (str,))
        if len(value) < least:
            raise InputError(where, value, f"give {least} or more names")
        for position, item in enumerate(value):
            check_name(f"{where}[{position}]", item, slash=slash, longest=longest)
        check_distinct(f"{where}[]", value)

    def listed(given: Any) -> Any:
        return (given,) if isinstance(given, str) else as_tuple(given)

    default = None if optional else attrs.NOTHING if least else ()
    return _field(
        _validate(check), optional, default, _converter(listed, "str | Iterable[str]", optional)
    )


def by_priority(*default: int) -> Any:
    """A field that holds a weight for each priority, from 1 on."""
    count = len(default)

    def check(where: str, value: Any) -> None:
        check_items(where, value, (int,))
        if len(value) != count:
            raise InputError(where, value, f"give {count} weights, for priority 1 to {count}")
        for position, weight in enumerate(value):
            check_whole(f"{where}[{position}]", weight, 0, HIGHEST_WEIGHT)

    return _field(_validate(check), False, default, _converter(as_tuple, "Iterable[int]"))


def weight(default: int | None = None, *, low: int = 0) -> Any:
    """A field that holds a weight in points; without a default it may be None."""
    check = _validate(lambda where, value: check_whole(where, value, low, HIGHEST_WEIGHT))
    return _field(check, default is None, attrs.NOTHING if default is None else default)


def check_name(
    where: str, value: object, *, slash: bool = False, longest: int = LONGEST_NAME
) -> None:
    """Refuse what is not a printable name; ``slash`` allows the one in ``voice/destination``."""
    right = f"a name is text of 1 to {longest} printable characters, no space at its ends"
    parts = value.split("/", 1) if isinstance(value, str) and slash else [value]
    for part in parts:
        if not isinstance(part, str) or not 0 < len(part) <= longest:
            raise InputError(where, value, right)
        if part != part.strip() or not all(_printable(mark) for mark in part):
            raise InputError(where, value, right)
        if "/" in part:
            raise InputError(
                where, value, "a name holds no '/': it parts a voice from its destination"
            )


def check_label(where: str, value: object) -> None:
    """Refuse what is not printable text of 1 to ``LONGEST_NAME`` characters, trimmed."""
    if (
        not isinstance(value, str)
        or not 0 < len(value) <= LONGEST_NAME
        or value != value.strip()
        or not all(_printable(mark) for mark in value)
    ):
        right = f"a label is text of 1 to {LONGEST_NAME} printable characters, no space at its ends"
        raise InputError(where, value, right)


def check_whole(where: str, value: object, low: int, high: int, unit: str = "") -> None:
    """Refuse what is not a whole number from ``low`` to ``high``."""
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        of = f" {unit}" if unit else ""
        raise InputError(where, value, f"give a whole number{of} from {low} to {high}")


def check_distinct(where: str, values: Iterable[str], taken: Iterable[str] = ()) -> None:
    """Refuse a name that is given twice.

    Args:
        where: where the names stand; ``[]`` in it becomes the place of the second one.
        values: the names.
        taken: names that others have.
    """
    seen = set(taken)
    for position, value in enumerate(values):
        if value in seen:
            right = "this name is given twice; each must be its own"
            raise InputError(where.replace("[]", f"[{position}]"), value, right)
        seen.add(value)


def _printable(mark: str) -> bool:
    """Whether a character is no control, format or unassigned one and breaks no line."""
    category = unicodedata.category(mark)
    return category[0] != "C" and category not in {"Zl", "Zp"}


def check_kind(where: str, value: object, kind: type[Any]) -> None:
    """Refuse what is no ``kind``; where the value has one of its own, say so.

    Raises:
        InputError: names ``where``, such as ``check.layout``.
    """
    if not isinstance(value, kind):
        own = kind.__name__.lower()
        has = hasattr(type(value), own)  # of an Allocation its layout
        held = f"; of {_called(type(value))} its {own}" if has else ""
        raise InputError(where, value, f"give {_called(kind)}{held}")


def _called(*kinds: type[Any]) -> str:
    """What values of these kinds are called: ``a Setup or an Allocation``."""
    names = [
        _CALLED.get(kind, f"{'an' if kind.__name__[0] in 'AEIOU' else 'a'} {kind.__name__}")
        for kind in kinds
    ]
    return " or ".join(part for part in (", ".join(names[:-1]), names[-1]) if part)


def check_items(where: str, value: object, kinds: tuple[type[Any], ...]) -> None:
    """Refuse what is no tuple of such values, or too long a one."""
    called = _called(*kinds)
    if not isinstance(value, tuple) or len(value) > MOST_ITEMS:
        raise InputError(where, value, f"give a list, each {called}, at most {MOST_ITEMS}")
    for position, item in enumerate(value):
        if not isinstance(item, kinds):
            raise InputError(f"{where}[{position}]", item, f"give {called}")


def as_tuple(given: Any) -> Any:
    """A tuple where ``given`` can be iterated; else itself, for the validator to refuse."""
    if isinstance(given, str | bytes | dict) or not isinstance(given, Iterable):
        return given
    return tuple(given)


def as_names(where: str, given: object) -> tuple[str, ...]:
    """The names in a list, a set or the like.

    Raises:
        InputError: it holds anything else, or is one text alone.
    """
    names = tuple(given) if isinstance(given, Iterable) and not isinstance(given, str) else (None,)
    if not all(isinstance(name, str) for name in names):
        raise InputError(where, given, "give a list of names")
    return names


def _validate(check: Callable[[str, Any], None]) -> Validator:
    """An attrs validator that tells ``check`` the name of the field."""

    def validate(instance: Any, attribute: attrs.Attribute[Any], value: Any) -> None:
        check(f"{type(instance).__name__}.{attribute.name}", value)

    return validate


def _converter(convert: Callable[[Any], Any], taken: str, optional: bool = False) -> Any:
    """A converter that says what it takes: ``help`` shows it as what the field is given."""

    def converter(given: Any) -> Any:
        return convert(given)  # None is left as it is

    converter.__annotations__["given"] = f"{taken} | None" if optional else taken
    return converter


def _field(check: Validator, optional: bool, default: Any, converter: Any = None) -> Any:
    if optional:
        default = None if default is attrs.NOTHING or default == () else default
    return attrs.field(
        default=default,
        validator=validators.optional(check) if optional else check,
        converter=converter,
    )
