"""Combination text: where everything of the sources went, as a player reads it in a terminal.

Plain lines of at most 79 columns. Every name and number is one of the combination's own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from knobpack.combination.answer import Combination
from knobpack.combination.report import Brought, Carried
from knobpack.present.columns import NARROW, paragraph, table
from knobpack.wording import essential_told, travel_text
from knobpack.words.naming import listed


def combination_text(found: Combination) -> str:
    """A combination as text: what was carried over to where, what it is called now, what was left.

    The layout itself is not in it: see :func:`knobpack.present.text.layout_text`.

    Returns:
        Lines of at most 79 columns, the last one ended too.
    """
    told = essential_told(found.essential_out)
    lost = [line for each in told for line in _lines(each, 0, 2)]
    sections = (lost, _heading(found), _carried(found), _brought(found.brought), _left(found))
    return "\n\n".join("\n".join(lines) for lines in sections if lines) + "\n"


def _heading(found: Combination) -> list[str]:
    named = [each.source for each in found.carried]
    named += [each.source for each in found.brought]
    named += [each.source for each in found.unlayered]
    named += [each.setup for each in found.slips]
    named += [each.setup for each in found.left]
    sources = [name for name in dict.fromkeys(named) if name not in (found.base, found.setup.name)]
    told = f"COMBINED  {found.base}" + (f" with {listed(sources)}" if sources else "")
    if found.setup.name != found.base:
        told += f", called {found.setup.name}"
    # What is essential and left out stands above all this.
    rest = found.first[bool(found.essential_out) :]
    lines = [*_lines(told, 0, 2), *(line for each in rest for line in _lines(each, 2))]
    return [
        *lines,
        *(_lines("Take an offer with --take and its number.", 2) if found.offers else ()),
    ]


def _carried(found: Combination) -> list[str]:
    rows: list[Sequence[str]] = [("", "was on", "is now on", "travel")]
    rows += [_row(found, each) for each in found.carried]
    head, *blocks = table(rows, indent=4, page=NARROW)
    lines, source = ["WHERE EVERYTHING WENT", *head], None
    for each, block in zip(found.carried, blocks, strict=True):
        if each.source != source:
            source = each.source
            lines += _lines(source, 2)
        lines += block
    return lines if found.carried else []


def _row(found: Combination, each: Carried) -> tuple[str, ...]:
    name = f"{each.voice}/{each.destination}"
    before = f"{_layer(each.old_layer)}, {each.old_knob or 'no knob'}"
    if each.new_knob is None or each.new_travel is None:
        return name, before, "no knob", ""
    top = found.setup.surface.top
    travel = travel_text(each.new_travel, top)
    if each.new_travel != each.wanted:
        travel += f", not {travel_text(each.wanted, top)}"
    after = f"{_layer(each.new_layer)}, {each.new_knob}"
    stays = (each.source, before) == (found.base, after)
    return name, before, "stays there" if stays else after, travel


def _brought(brought: tuple[Brought, ...]) -> list[str]:
    rows = []
    for each in brought:
        layer = f"{_layer(each.old_layer)} to {each.new_layer}" if each.new_layer else ""
        renamed = f"now called {each.new}" if each.new != each.old else ""
        rows.append((each.source, each.kind, each.old, layer, renamed))
    return ["BROUGHT", *_flat(table(rows, page=NARROW))] if rows else []


def _left(found: Combination) -> list[str]:
    lines = [line for each in found.left for line in _lines(f"- {each}", 2)]
    return ["NOT AS IT WAS  and why", *lines] if lines else []


def _layer(layer: int | None) -> str:
    return "no layer" if layer is None else f"layer {layer}"


def _lines(text: str, indent: int, hang: int = 2) -> Iterator[str]:
    yield from paragraph(text, indent, hang, NARROW)


def _flat(blocks: list[list[str]]) -> list[str]:
    return [line for block in blocks for line in block]
