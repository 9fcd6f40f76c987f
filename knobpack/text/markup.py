"""Markup: the parts that an answer is shown with in a notebook. All text in it is escaped.

Colours are those of the page it stands in, light or dark, so that nothing is told by colour alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

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
