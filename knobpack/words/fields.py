"""What the fields of the words refuse: attrs validators, and the checks that they are made of.

What a field takes stands beside it, as its converter (:mod:`knobpack.words.converters`). Each field
is written out with ``attrs.field`` in the body of its class: that is the form that type checkers
read.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence, Set
from typing import TYPE_CHECKING, Any

from knobpack.errors import InputError
from knobpack.storage import strict_json
from knobpack.words.converters import as_tuple, texts, unordered
from knobpack.words.names import listed, near_to

if TYPE_CHECKING:
    import attrs

LONGEST_NAME = 120
"""Characters in a name, at most (of a voice and of its destination each, in a full name)."""

MOST_ITEMS = strict_json.MOST_ITEMS
"""Items in any one list, at most."""

HIGHEST_WEIGHT = 10_000
"""A weight, at most: so that no sum of costs leaves the range the solver is exact in."""

MOST_NAMED = 3
"""Names that show what names look like, where none comes close to a wrong one."""

_CALLED = {str: "text", int: "a whole number", bool: "true or false"}


class Validator:
    """Refuses what a field cannot hold, and says of what it can what a JSON Schema says.

    Args:
        check: refuses a value, by the name of its field.
        optional: whether none is taken too.
        limits: the words of a JSON Schema for it, beside those for its type.
    """

    __slots__ = ("check", "limits", "optional")

    def __init__(
        self,
        check: Callable[[str, Any], None],
        optional: bool = False,
        limits: Mapping[str, Any] | None = None,
    ) -> None:
        self.check, self.optional, self.limits = check, optional, limits or {}

    def __call__(self, instance: Any, attribute: attrs.Attribute[Any], value: Any) -> None:
        """Refuse ``value`` if it will not do."""
        if value is not None or not self.optional:
            self.check(f"{type(instance).__name__}.{attribute.name}", value)


def name(*, slash: bool = False, optional: bool = False, longest: int = LONGEST_NAME) -> Validator:
    """Refuses what is no name (with ``slash``: one that may say ``voice/destination``)."""
    return Validator(
        lambda where, value: check_name(where, value, slash=slash, longest=longest),
        optional,
        _name_limits(slash, longest),
    )


def label() -> Validator:
    """Refuses what is no label: text of the length of a name, in which a slash means nothing."""
    return Validator(check_label, limits={"pattern": f"^{_pattern(LONGEST_NAME, but='')}$"})


def choice(words: Sequence[str], *, optional: bool = False) -> Validator:
    """Refuses what is none of some words."""
    limits = {"enum": [*words, *([None] if optional else [])]}
    return Validator(lambda where, value: check_choice(where, value, words), optional, limits)


def whole(low: int, high: int, *, optional: bool = False, unit: str = "") -> Validator:
    """Refuses what is no whole number from ``low`` to ``high``."""
    return Validator(
        lambda where, value: check_whole(where, value, low, high, unit),
        optional,
        {"minimum": low, "maximum": high, **({"unit": unit} if unit else {})},
    )


def flag() -> Validator:
    """Refuses what is neither true nor false."""
    return one(bool)


def one(kind: type[Any], *, optional: bool = False) -> Validator:
    """Refuses what is no value of a word."""
    return Validator(lambda where, value: check_kind(where, value, kind), optional)


def one_among(*kinds: type[Any], optional: bool = False) -> Validator:
    """Refuses what is no value of one of some words."""

    def check(where: str, value: object) -> None:
        if not isinstance(value, kinds):
            raise InputError(where, value, f"give {_called(*kinds)}")

    return Validator(check, optional)


def one_of_later(kind: Callable[[], type[Any]]) -> Validator:
    """Refuses what is no value of a word that is defined later."""
    return Validator(lambda where, value: check_kind(where, value, kind()))


def several(*kinds: type[Any], optional: bool = False, simply: str = "") -> Validator:
    """Refuses what is no tuple of words; ``simply`` says what makes one."""

    def check(where: str, value: object) -> None:
        check_items(where, value, kinds, simply)

    return Validator(check, optional, {"maxItems": MOST_ITEMS})


def names(
    *,
    slash: bool = False,
    least: int = 0,
    optional: bool = False,
    longest: int = LONGEST_NAME,
) -> Validator:
    """Refuses what is no tuple of different names."""

    def check(where: str, value: Any) -> None:
        for position, item in enumerate(value if slash and isinstance(value, tuple) else ()):
            if hasattr(item, "must_place"):  # a Destination, which does not know its voice
                right = "give its full name: voice.full_name(destination)"
                raise InputError(f"{where}[{position}]", item, right)
        check_items(where, value, (str,))
        if len(value) < least:
            raise InputError(where, value, f"give {least} or more names")
        for position, item in enumerate(value):
            check_name(f"{where}[{position}]", item, slash=slash, longest=longest)
        check_distinct(f"{where}[]", value)

    limits = {"uniqueItems": True, "maxItems": MOST_ITEMS, "items": _name_limits(slash, longest)}
    return Validator(check, optional, limits | ({"minItems": least} if least else {}))


def by_priority(count: int) -> Validator:
    """Refuses what is no tuple of a weight for each priority, from 1 to ``count``."""

    def check(where: str, value: Any) -> None:
        check_items(where, value, (int,))
        if len(value) != count:
            raise InputError(where, value, f"give {count} weights, for priority 1 to {count}")
        for position, each in enumerate(value):
            check_whole(f"{where}[{position}]", each, 0, HIGHEST_WEIGHT)

    return Validator(check, limits={"items": weight().limits, "minItems": count, "maxItems": count})


def weight(*, low: int = 0, optional: bool = False) -> Validator:
    """Refuses what is no weight in points."""
    return whole(low, HIGHEST_WEIGHT, optional=optional)


def rule_weight() -> Validator:
    """Refuses what is no weight of a rule, and says of a name there where it belongs."""
    points = weight(low=1, optional=True)

    def check(where: str, value: object) -> None:
        if isinstance(value, str):
            right = "give a number of points; where a rule takes several names, give one list"
            raise InputError(where, value, right)
        points.check(where, value)

    return Validator(check, optional=True, limits=points.limits)


def _name_limits(slash: bool, longest: int) -> dict[str, str]:
    part = _pattern(longest, but="/")
    return {"pattern": f"^{part}(/{part})?$" if slash else f"^{part}$"}


def _pattern(longest: int, but: str) -> str:
    """A regular expression (ECMA-262) of trimmed text without control characters.

    It takes some that are refused: those that Unicode does not assign, or only formats with.
    """
    never = but + r"\u0000-\u001f\u007f-\u009f\u2028\u2029"
    return rf"[^\s{never}]([^{never}]{{0,{longest - 2}}}[^\s{never}])?"


def check_name(
    where: str, value: object, *, slash: bool = False, longest: int = LONGEST_NAME
) -> None:
    """Refuse what is not a printable name; ``slash`` allows the one in ``voice/destination``."""
    right = f"a name is text of 1 to {longest} printable characters, no space at its ends"
    parts = value.split("/", 1) if isinstance(value, str) and slash else [value]
    for part in parts:
        if not isinstance(part, str) or not 0 < len(part) <= longest:
            raise InputError(where, value, right)
        if part != part.strip() or not _printable(part):
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
        or not _printable(value)
    ):
        right = f"a label is text of 1 to {LONGEST_NAME} printable characters, no space at its ends"
        raise InputError(where, value, right)


def check_choice(where: str, value: object, words: Sequence[str]) -> None:
    """Refuse what is none of some words."""
    if not isinstance(value, str) or value not in words:
        right = f"give one of {', '.join(map(repr, words))}{near_to(value, words)}"
        raise InputError(where, value, right)


def check_whole(where: str, value: object, low: int, high: int, unit: str = "") -> None:
    """Refuse what is not a whole number from ``low`` to ``high``."""
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        of = f" {unit}" if unit else ""
        text = " and no text" if isinstance(value, str) and value.strip().isdecimal() else ""
        raise InputError(where, value, f"give a whole number{of} from {low} to {high}{text}")


def check_named(where: str, value: object, known: Collection[str], right: str) -> str:
    """Refuse what is none of some names, with what comes close to it, or else some of them.

    Returns:
        The name.
    """
    if isinstance(value, str) and value in known:
        return value
    near = near_to(value, known)
    some = f", such as {listed(tuple(known)[:MOST_NAMED])}" if known else ""
    raise InputError(where, value, right + (near or some))


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


def _printable(text: str) -> bool:
    """Whether no character is a control, format or unassigned one or breaks a line.

    To Python no space but the plain one is printable, so these are looked at one by one.
    """
    return text.isprintable() or all(
        mark.isprintable() or unicodedata.category(mark) == "Zs" for mark in text
    )


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


def check_items(where: str, value: object, kinds: tuple[type[Any], ...], simply: str = "") -> None:
    """Refuse what is no tuple of such values, or too long a one; ``simply`` says what makes one."""
    called = _called(*kinds)
    check_ordered(where, value)
    if not isinstance(value, tuple) or len(value) > MOST_ITEMS:
        right = f"give a list, each {called}, at most {MOST_ITEMS}"
        raise InputError(where, value, f"{right}; {simply}" if simply else right)
    for position, item in enumerate(value):
        if not isinstance(item, kinds):
            raise InputError(f"{where}[{position}]", item, f"give {called}")


def check_ordered(where: str, given: object) -> None:
    """Refuse a set: in each run of Python its items come in another order, and so would answers."""
    if unordered(given):
        raise InputError(where, given, "a set has no order; give a list")


def as_list(where: str, given: object, right: str, least: int = 0) -> tuple[Any, ...]:
    """What is given as a list or the like.

    Raises:
        InputError: it is none, or holds fewer than ``least``; ``right`` says what would be right.
    """
    check_ordered(where, given)
    found = as_tuple(given)
    if not isinstance(found, tuple) or len(found) < least:
        raise InputError(where, given, right)
    return found


def as_names(
    where: str, given: object, called: Callable[[Any], tuple[str, ...]] = texts
) -> tuple[str, ...]:
    """The names in a list, a set or the like, where their order says nothing; one alone will do.

    Args:
        where: where they were given.
        given: they, or what is called so.
        called: says what each is called: a converter.

    Raises:
        InputError: it holds anything else.
    """
    if type(given) is tuple and set(map(type, given)) <= {str}:
        return given
    names = called(tuple(given) if isinstance(given, Set) else given)
    if not isinstance(names, tuple):
        raise InputError(where, given, "give a list of names")
    for position, name in enumerate(names):
        if not isinstance(name, str):
            raise InputError(f"{where}[{position}]", name, "give a list of names")
    return names
