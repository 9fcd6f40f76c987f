"""Shown: how every answer is shown. It prints as sentences, and shows as tables in a notebook.

An answer says what its parts are there, as HTML: all text is escaped, and its colours are those of
the page, light or dark.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence, Sized
from html import escape
from inspect import Signature
from typing import Any

import attrs

from knobpack.text.columns import sentence

_BELOW = ' class="below"'

_STYLE = """<style>
.knobpack { color: inherit; max-width: 60em; line-height: 1.45; overflow-wrap: anywhere; }
.knobpack .title { font-weight: 700; margin: 0 0 .4em; }
.knobpack table { border-collapse: collapse; margin: .4em 0; color: inherit; }
.knobpack caption { text-align: left; font-style: italic; padding: .2em 0; color: inherit; }
.knobpack th, .knobpack td {
  border: 1px solid currentColor; padding: .25em .6em; text-align: left; vertical-align: top;
  background: none; color: inherit; white-space: pre-wrap;
}
.knobpack thead th { white-space: nowrap; }
.knobpack ul { margin: .2em 0; padding-left: 1.4em; }
.knobpack li { white-space: pre-wrap; }
.knobpack li.below { margin-left: 1.4em; list-style-type: circle; }
</style>"""


def figure(title: str, *parts: str) -> str:
    """Parts under a title, as one piece of HTML that needs nothing else.

    Args:
        title: what is shown, as plain text.
        parts: HTML, made by the other functions here.
    """
    name = escape(title)
    inner = "\n".join(parts)
    return (
        f'<div class="knobpack" role="group" aria-label="{name}">\n{_STYLE}\n'
        f'<p class="title"><bdi>{name}</bdi></p>\n{inner}\n</div>'
    )


def html_list(sentences: Iterable[str]) -> str:
    """Sentences as a list; those that are indented stand below the one before."""
    items = "\n".join(
        f"<li{_BELOW if each.startswith('  ') else ''}><bdi>{escape(each)}</bdi></li>"
        for each in sentences
    )
    return f"<ul>\n{items}\n</ul>"


def html_table(caption: str, head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table whose first column names its rows.

    Args:
        caption: what the table shows, as plain text.
        head: what the columns are called, as plain text.
        rows: the cells of each row, as plain text, as many as columns.
    """
    columns = "".join(f'<th scope="col">{escape(name)}</th>' for name in head)
    lines = "\n".join(f"<tr>{_cells(row)}</tr>" for row in rows)
    return (
        f"<table>\n<caption>{escape(caption)}</caption>\n"
        f"<thead><tr>{columns}</tr></thead>\n<tbody>\n{lines}\n</tbody>\n</table>"
    )


def _cells(row: Sequence[str]) -> str:
    """The cells of a row; a name in another direction of writing must not turn the rest round."""
    first, *others = (f"<bdi>{escape(cell)}</bdi>" for cell in row)
    rest = "".join(f"<td>{cell}</td>" for cell in others)
    return f'<th scope="row">{first}</th>{rest}'


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
