"""Shown: how every answer is shown. It prints as sentences, and shows as tables where it can.

An answer says what its parts are. They are made into HTML for a notebook (all text escaped, in the
colours of the page, light or dark), or into what rich prints in a terminal, where it is installed.
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


@attrs.frozen
class Sentences:
    """Sentences, one below the other."""

    sentences: tuple[str, ...]

    @property
    def html(self) -> str:
        """A list."""
        return html_list(self.sentences)

    @property
    def rich(self) -> Any:
        """Plain text: brackets in it are no markup."""
        from rich.text import Text

        return Text("\n".join(self.sentences))


@attrs.frozen
class Table:
    """A table whose first column names its rows.

    Args:
        caption: what it shows.
        head: what the columns are called.
        rows: the cells of each row, as many as columns.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    @property
    def html(self) -> str:
        """A table with header cells for its rows and columns."""
        return html_table(self.caption, self.head, self.rows)

    @property
    def rich(self) -> Any:
        """A table of rich: brackets in names are no markup."""
        from rich.table import Table as RichTable
        from rich.text import Text

        made = RichTable(title=Text(self.caption), title_justify="left")
        for name in self.head:
            made.add_column(Text(name))
        for row in self.rows:
            made.add_row(*map(Text, row))
        return made


class Shown:
    """What shows itself in a notebook, where rich prints, and to ``help``."""

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
    def _parts(self) -> Sequence[Sentences | Table]:
        raise NotImplementedError

    def _repr_html_(self) -> str:
        """What a notebook shows."""
        return figure(self._title, *(part.html for part in self._parts))

    def _repr_mimebundle_(
        self, include: object = None, exclude: object = None
    ) -> Mapping[str, Any]:
        """What a notebook shows, and what it shows where there is no HTML."""
        del include, exclude  # the notebook takes what it wants of the two
        return {"text/plain": str(self), "text/html": self._repr_html_()}

    def __rich__(self) -> Any:
        """What rich prints."""
        from rich.console import Group
        from rich.text import Text

        title = Text(self._title, style="bold")
        return Group(title, *(part.rich for part in self._parts))

    @property
    def _title(self) -> str:
        return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", type(self).__name__).lower().capitalize()


class Fielded(Shown):
    """A value of attrs that shows its fields, one below the other."""

    __slots__ = ()

    @property
    def _parts(self) -> Sequence[Sentences | Table]:
        fields: tuple[attrs.Attribute[Any], ...] = attrs.fields(type(self))  # type: ignore[arg-type]
        held = {each.name: getattr(self, each.name) for each in fields if each.init and each.repr}
        rows = ((name, _cell(value)) for name, value in held.items() if value not in (None, ()))
        return (Table("", ("field", "value"), tuple(rows)),)


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
    def _parts(self) -> Sequence[Sentences | Table]:
        return (Sentences(self.sentences),)
