"""Shown: how every answer is shown. It prints as sentences, and shows as tables in a notebook.

An answer says what its parts are there, as HTML: all text is escaped, and its colours are those of
the page, light or dark.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence, Sized
from inspect import Signature
from typing import Any

import attrs

from knobpack.text.columns import sentence
from knobpack.text.markup import figure, html_list, html_table


def counted(items: Sized) -> str:
    """How a long field stands in a ``repr``: by how many it holds."""
    return f"<{len(items)}>"


class Shown:
    """What shows itself in a notebook, and to ``help``."""

    __slots__ = ()

    def __init_subclass__(cls) -> None:
        """Let ``help`` say of what is held its type, and of what is derived what it is as well."""
        super().__init_subclass__()
        own = vars(cls)
        types = own.get("__annotations__", {})
        # attrs keeps what is derived once in slots, and how it is derived in this.
        derive: Any = own.get("__getattr__")
        known: tuple[Any, ...] = getattr(derive, "__defaults__", None) or ({},)
        derived: dict[str, Any] = known[0] if isinstance(known[0], dict) else {}
        told = {name: types.get(name) for name in own.get("__slots__", ())}
        for name, made in derived.items():
            told[name] = f"{made.__annotations__['return']}: {made.__doc__}"
        if derived:
            derive.__signature__ = Signature()  # its own names all of them, with where they lie
        if told:
            type.__setattr__(cls, "__slots__", told)

    @property
    def _parts(self) -> Sequence[str]:
        raise NotImplementedError

    def _repr_html_(self) -> str:
        """What a notebook shows."""
        return figure(self._title, *self._parts)

    def _repr_mimebundle_(
        self, include: object = None, exclude: object = None
    ) -> Mapping[str, Any]:
        """What a notebook shows, and what it shows where there is no HTML."""
        del include, exclude  # the notebook takes what it wants of the two
        return {"text/plain": str(self), "text/html": self._repr_html_()}

    @property
    def _title(self) -> str:
        return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", type(self).__name__).lower().capitalize()


class Fielded(Shown):
    """A value of attrs that shows its fields, one below the other."""

    __slots__ = ()

    @property
    def _parts(self) -> Sequence[str]:
        fields: tuple[attrs.Attribute[Any], ...] = attrs.fields(type(self))  # type: ignore[arg-type]
        held = {each.name: getattr(self, each.name) for each in fields if each.init and each.repr}
        rows = ((name, _cell(value)) for name, value in held.items() if value not in (None, ()))
        return (html_table("", ("field", "value"), rows),)


def _cell(value: object) -> str:
    """How a value stands in a cell: a list by its items, one below the other."""
    if isinstance(value, tuple):
        return "\n".join(map(str, value))
    return str(value)


class Told(Shown):
    """An answer that tells itself in sentences."""

    __slots__ = ()

    def __init_subclass__(cls) -> None:
        """See to it that the sentences of every answer begin as sentences do."""
        super().__init_subclass__()
        own = cls.__dict__.get("sentences")
        if isinstance(own, property) and own.fget is not None:
            told = own.fget
            said = property(lambda self: tuple(map(sentence, told(self))), doc=own.__doc__)
            type.__setattr__(cls, "sentences", said)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The answer in plain sentences, what matters most first."""
        raise NotImplementedError

    def __str__(self) -> str:
        return "\n".join(self.sentences)

    @property
    def _parts(self) -> Sequence[str]:
        return (html_list(self.sentences),)
