"""List keys: the objects of a list, each key with a value of the type it must be of."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from typing import Any, TypeAlias

import attrs

from knobpack.errors import MISSING, InputError
from knobpack.storage import strict_json
from knobpack.storage.disk import read_bytes
from knobpack.storage.strict_json import MOST_ITEMS, key_path
from knobpack.words import fields
from knobpack.words.names import listed

Given: TypeAlias = str | bytes | os.PathLike[str] | list[Any]
"""JSON text, the path of a file of it, or the list that it holds."""


@attrs.define
class Remarks:
    """Gathers what is to be remarked on while a list is read: what is alike is told as one."""

    _places: dict[str, dict[str, None]] = attrs.field(factory=dict, init=False)

    def add(self, place: str, told: str) -> None:
        """Remark on something.

        Args:
            place: where it stands, such as ``[3].priority``.
            told: the rest of the sentence.
        """
        self._places.setdefault(told, {})[place] = None

    @property
    def sentences(self) -> tuple[str, ...]:
        """One sentence for each thing that was told, with its places, in order."""
        return tuple(f"{listed(list(places))}: {told}." for told, places in self._places.items())


@contextmanager
def noted(where: str, given: object) -> Iterator[None]:
    """Note on an InputError in which map and which file it is, where its field does not say so.

    Args:
        where: what names the list; empty for the controller list itself.
        given: the list as it was given.
    """
    try:
        yield
    except InputError as error:
        if not error.field.startswith(where):
            error.add_note(f"in {where}")
        if isinstance(given, os.PathLike) and error.field != os.fspath(given):
            error.file = os.fspath(given)
        raise


@attrs.frozen
class Keys:
    """What an object holds under the keys that are known, as the standard writes them.

    Args:
        place: where the object stands: ``[3]``.
        found: the values, without those that are null.
        remarks: told what is tolerated.
    """

    place: str
    found: Mapping[str, Any]
    remarks: Remarks

    @classmethod
    def of(
        cls, place: str, given: Mapping[Any, Any], known: Collection[str], remarks: Remarks
    ) -> Keys:
        """A key in other case is taken for the one it resembles, and null for nothing at all.

        Raises:
            InputError: a key is no text, or two are the same but for their case.
        """
        folded = {key.casefold(): key for key in known}
        found: dict[str, Any] = {}
        unknown = []
        for key, value in given.items():
            if not isinstance(key, str):
                raise InputError(place, key, "a key is text")
            meant = folded.get(key.casefold())
            if meant is None:
                unknown.append(key_path(key))
                continue
            if meant in found:
                right = f"this key stands for {meant}, which is there already; keep one"
                raise InputError(place + key_path(key), value, right)
            found[meant] = value
            if key != meant:
                remarks.add(place + key_path(key), f"it is taken for {meant}")
        for key in [key for key, value in found.items() if value is None]:
            remarks.add(f"{place}.{key}", "null is taken for no value")
            del found[key]
        if unknown:
            which = "these keys are" if len(unknown) > 1 else "this key is"
            remarks.add(place, f"{listed(unknown)}: {which} not known and passed over")
        return cls(place, found, remarks)

    def at(self, key: str) -> str:
        """Where a key stands, for errors and remarks."""
        return f"{self.place}.{key}"

    def remark(self, key: str, told: str) -> None:
        """Remark on the value of a key; an empty key is the whole object."""
        self.remarks.add(self.at(key) if key else self.place, told)

    def required(self, key: str, right: str = "this key must be there") -> Any:
        """The value of a key that must be there.

        Raises:
            InputError: it is not.
        """
        if key not in self.found:
            raise InputError(self.at(key), MISSING, right)
        return self.found[key]

    def text(self, key: str, *, needed: bool = False) -> str | None:
        """The text of a key; None where it is not there and need not be.

        Raises:
            InputError: it is no text, or is missing.
        """
        value = self.required(key) if needed else self.found.get(key)
        if value is not None and not isinstance(value, str):
            raise InputError(self.at(key), value, "give text")
        return value

    def whole(self, key: str, low: int, high: int) -> int | None:
        """The whole number of a key; None where it is not there.

        Raises:
            InputError: it is no whole number from ``low`` to ``high``.
        """
        value = self.found.get(key)
        if value is None:
            return None
        fields.check_whole(self.at(key), value, low, high)
        return int(value)

    def chosen(self, key: str, choices: Collection[str], default: str | None = None) -> str:
        """Which of some choices a key holds, in whatever case; a default where it is not there.

        Raises:
            InputError: it holds none of them, or is missing and has no default.
        """
        if default is not None and key not in self.found:
            return default
        right = f"give one of {', '.join(choices)}"
        value = self.required(key, right)
        for choice in choices:
            if isinstance(value, str) and value.casefold() == choice.casefold():
                if value != choice:
                    self.remark(key, f"it is taken for {choice}")
                return choice
        raise InputError(self.at(key), value, right)


def objects(where: str, given: object, known: Collection[str], remarks: Remarks) -> Iterator[Keys]:
    """The entries of a list, each by :meth:`Keys.of`.

    Args:
        where: what names the list in an error; empty for the controller list itself.
        given: JSON text of at most 8 MB, the path of a file of it, or a list of dicts.
        known: the keys that an entry may have.
        remarks: where remarks go.

    Raises:
        InputError: it is none of these, is no strict JSON, or the file cannot be read; or an entry
            is no object, or as of :meth:`Keys.of`.
    """
    entries = read_bytes(given) if isinstance(given, os.PathLike) else given
    if isinstance(entries, str | bytes):
        entries = strict_json.parse(entries)
    top = where or strict_json.TOP
    if not isinstance(entries, list):
        raise InputError(top, entries, "give a list, JSON text, bytes, or a path")
    if len(entries) > MOST_ITEMS:
        raise InputError(top, len(entries), f"give at most {MOST_ITEMS} entries")
    for position, entry in enumerate(entries):
        place = f"{where}[{position}]"
        if not isinstance(entry, dict):
            raise InputError(place, entry, "give an object")
        yield Keys.of(place, entry, known, remarks)
