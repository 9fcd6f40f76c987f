"""Combination text: where everything of the sources went, as a player reads it in a terminal.

Plain lines of at most so many columns. Every name and number is one of the combination's own.
"""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Sequence

import attrs

from knobpack.combination.answer import Combination
from knobpack.combination.report import Brought, Carried, layer_told
from knobpack.definition.phrases import travel_text
from knobpack.grouped import grouped
from knobpack.present.setup_text import by_ear_lines
from knobpack.present.text import essential_lines
from knobpack.text.columns import PAGE, bulleted, headed, paragraph, table, text_of
from knobpack.words.names import listed


def combination_text(found: Combination, page: int = PAGE, *, details: bool = True) -> str:
    """A combination as text: what was carried over to where, what it is called now, what was left.

    The layout itself is not in it (see :func:`knobpack.present.text.layout_text`), nor the offers
    (:func:`offers_text`), which are read after it.

    Args:
        found: what :func:`knobpack.combine` gave back.
        page: columns of a terminal that a line may take, at most.
        details: whether to tell it of everything one by one, and not only what matters most.

    Returns:
        Lines of at most so many columns, the last one ended too.
    """
    sections = [
        essential_lines(found.essential_out, page),
        _heading(found, page),
        by_ear_lines(found.wanted.base, found.setup, page),
    ]
    if details:
        sections += [_carried(found, page), _brought(found.brought, page), _left(found, page)]
    return text_of(sections)


def _heading(found: Combination, page: int) -> list[str]:
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
    first = attrs.evolve(found, offers=()).headlines
    return headed(told, first[bool(found.essential_out) :], page)


def offers_text(found: Combination, page: int = PAGE, *, taken: Sequence[int] = ()) -> str:
    """The offers of a combination as text, of each what it wins and costs; none: nothing.

    Args:
        found: what :func:`knobpack.combine` gave back.
        page: columns of a terminal that a line may take, at most.
        taken: the numbers of the offers that were taken, each of the list that was shown then.

    Returns:
        Lines of at most so many columns, the last one ended too, an empty one before them.
    """
    lines = []
    for place, offer in enumerate(found.offers, 1):
        how, *changes = offer.lines
        lines += [f"Offer {place}, {offer.what}: {how}:", *(f"  {each}" for each in changes)]
    if found.offers:
        words = " ".join(f"--take {number}" for number in (*taken, 1))
        best = " Each is proven best that way." * all(each.proven for each in found.offers)
        lines.append(f"Take offer 1 with {words}, and so on.{best}")
    lines += _fewer(found)
    return "\n" + text_of([headed("OFFERS", lines, page)]) if lines else ""


def _fewer(found: Combination) -> Iterator[str]:
    """How to bring fewer voices, where some of a source have no knob, or something is alarming."""
    alarming, crowded = {each.destination for each in found.alarming}, []
    for source, those in grouped((each.source, each) for each in found.carried).items():
        voices = grouped((each.voice, each) for each in those)
        fit = [voice for voice, inner in voices.items() if any(each.new_knob for each in inner)]
        if source == found.base or not fit or len(voices) < 2:
            continue
        if len(fit) < len(voices):
            only = " ".join(f"--only {shlex.quote(voice)}" for voice in fit)
            yield f"Without the voices of {source} that find no knob: {only}."
        elif any(each.full_name in alarming or not each.new_knob for each in those):
            crowded.append(source)
    if crowded:
        yield f"Bring fewer voices of {listed(crowded)} with --only VOICE."


def _carried(found: Combination, page: int) -> list[str]:
    rows = [_row(found, each) for each in found.carried]
    heads = ("", "was on", "is now on", "travel")
    head, *blocks = table(rows, head=heads, indent=4, page=page)
    lines, source = ["WHERE EVERYTHING WENT", *head], None
    for each, block in zip(found.carried, blocks, strict=True):
        if each.source != source:
            source = each.source
            lines += paragraph(source, 2, 2, page)
        lines += block
    return lines if found.carried else []


def _row(found: Combination, each: Carried) -> tuple[str, ...]:
    name = f"{each.voice}/{each.destination}"
    if each.new_knob is None or each.new_travel is None:
        return name, each.was, "no knob", ""
    top = found.setup.surface.top
    travel = travel_text(each.new_travel, top)
    if each.new_travel != each.wanted:
        travel += f", not {travel_text(each.wanted, top)}"
    stays = (each.source, each.was) == (found.base, each.now)
    return name, each.was, "stays there" if stays else each.now, travel


def _brought(brought: tuple[Brought, ...], page: int) -> list[str]:
    lines = ["BROUGHT"]
    for source, those in grouped((each.source, each) for each in brought).items():
        lines += paragraph(source, 2, 2, page)
        for each in those:
            told = f"{each.kind} {each.old}"
            if each.new_layer and each.new_layer == each.old_layer:
                told += f", on {layer_told(each.new_layer)} as before"
            elif each.new_layer:
                told += f", from {layer_told(each.old_layer)} to {layer_told(each.new_layer)}"
            told += f", now called {each.new}" if each.new != each.old else ""
            lines += paragraph(told, 4, 2, page)
    return lines if brought else []


def _left(found: Combination, page: int) -> list[str]:
    lines = bulleted((each for each in found.left if each not in found.gone), page=page)
    return ["NOT AS IT WAS  and why", *lines] if lines else []
