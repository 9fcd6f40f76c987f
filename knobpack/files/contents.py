"""Contents: what stands in the file of each thing that is saved, by how its name ends."""

from __future__ import annotations

import io
import os
import warnings
from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, Final, Protocol, TypeAlias

from knobpack.allocation import Allocation
from knobpack.errors import InputError
from knobpack.files.stored import STORED
from knobpack.storage.disk import path_of
from knobpack.words import Setup
from knobpack.words.names import listed

if TYPE_CHECKING:
    import networkx as nx

    from knobpack.files.written import InJson
    from knobpack.midi import SweepFile


class Drawn(Protocol):
    """A picture: the Axes or Figure of matplotlib."""

    @property
    def get_figure(self) -> Any:
        """Gives the figure that it is on."""


# As text: what they are made of is loaded by what makes it.
Saved: TypeAlias = "InJson | SweepFile | Drawn | str"
"""What can be saved to a file."""

Maker: TypeAlias = Callable[[], str | bytes]

JSON = ".json"

PICTURES = (".svg", ".png", ".pdf")
"""How the name of a file ends that a picture is written to."""


TEXTS: Final[Mapping[str, str]] = {".html": "page", ".md": "markdown", ".txt": "text"}
"""How the name of a file ends that a text is written to, and the method that makes it."""


def contents(path: str | os.PathLike[str], value: Any, plain: Maker) -> bytes:
    """What stands in the file of a value.

    Args:
        path: the file; its name says in which form.
        value: what is saved.
        plain: makes the text of its JSON file, if it has one.

    Raises:
        InputError: it has no such form.
    """
    made = dict(_forms(value, plain))
    ending = path_of(path).suffix.lower()
    if (ending or JSON) not in made:
        if [*made] == [JSON]:
            plain()  # what cannot be saved at all is refused as that
        right = f"{_called(value)}: give a file that ends in {listed([*made])}"
        right = right.replace(" and ", " or ")
        if isinstance(value, Allocation):
            right += ", or save its setup(name), its explain() or its graph"
        raise InputError("save.path", os.fspath(path), right)
    content = made[ending or JSON]()
    return content if isinstance(content, bytes) else _encoded(content)


def _forms(value: Any, plain: Maker) -> Iterator[tuple[str, Maker]]:
    """The endings of the files that a value may be written to, each with what makes its content."""
    if hasattr(value, "savefig") or hasattr(value, "get_figure"):
        figure = value if hasattr(value, "savefig") else value.get_figure(root=True)
        for ending in PICTURES:
            yield ending, lambda ending=ending: _drawn(figure, ending)  # type: ignore[misc]
    elif hasattr(value, "add_edge"):
        yield JSON, plain
        yield ".graphml", lambda: _graphml(value)
    elif isinstance(getattr(value, "data", None), bytes):
        yield ".mid", lambda: value.data
    elif isinstance(value, str):
        yield from dict.fromkeys(TEXTS, lambda: _encoded(value)).items()
    else:
        yield JSON, plain
        if isinstance(value, Setup):
            from knobpack.tables import dumps

            yield ".csv", lambda: dumps(value).encode("utf-8-sig")
        if type(value) not in STORED.values():
            for ending, form in TEXTS.items():
                if hasattr(value, form):
                    yield ending, getattr(value, form)


def _called(value: Any) -> str:
    if isinstance(value, str):
        return "a text, such as the page of an answer"
    kind = type(value).__name__
    return "graph" if hasattr(value, "add_edge") else kind


def _encoded(text: str) -> bytes:
    try:
        return text.encode()
    except UnicodeEncodeError as error:
        wrong = text[error.start : error.end]
        raise InputError("save.value", wrong, "half of a surrogate pair is no character") from None


def _drawn(figure: Any, ending: str) -> bytes:
    import matplotlib as mpl

    buffer = io.BytesIO()
    # Without a date, and named by what it shows: the same picture is the same file.
    dated = {".svg": {"Date": None}, ".pdf": {"CreationDate": None}}
    salted = mpl.rc_context({"svg.hashsalt": "knobpack"})
    with salted, warnings.catch_warnings(action="ignore"):  # of letters that are drawn as boxes
        figure.savefig(buffer, format=ending[1:], metadata=dated.get(ending))
    return buffer.getvalue()


def _graphml(graph: nx.MultiDiGraph[str]) -> bytes:
    import networkx as nx

    buffer = io.BytesIO()
    try:
        # This one does not look whether lxml is there, so it writes the same on every machine.
        nx.write_graphml_xml(graph, buffer)
        "".join(map(str, graph)).encode()  # half of a surrogate pair would be no XML
    except (nx.NetworkXError, ValueError):
        right = "give a graph of names and values that GraphML takes: text that XML holds, numbers"
        raise InputError("save.value", graph, right) from None
    return buffer.getvalue()
