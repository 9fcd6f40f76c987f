"""Setup text: what a setup holds, and what is said of it, as a player reads it in a terminal.

Plain lines of at most so many columns, in the answers' own sentences.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from knobpack.auditing import causes
from knobpack.auditing.findings import Audit, KnobUse
from knobpack.definition.phrases import CAUTION, many, travel_text
from knobpack.grouped import grouped
from knobpack.setups.as_read import read
from knobpack.setups.sounding import held_still_told
from knobpack.sheets.cautions import by_ear, caution_of_change, unheld_levels
from knobpack.simulation import Jump, jump_sentences
from knobpack.text.columns import PAGE, bulleted, headed, listing, paragraph, text_of
from knobpack.words import Setup
from knobpack.words.names import NOT_THERE, knob_cells, knob_told, listed, quoted

if TYPE_CHECKING:
    from knobpack.edits.answer import Edited
    from knobpack.edits.impossible import CannotBe
    from knobpack.midi import ControllerNumbers, SweepFile
    from knobpack.midi.heard import Heard


def panel_lines(setup: Setup, page: int = PAGE) -> list[str]:
    """What each knob drives, and over which travel: lines of at most so many columns."""
    reading = read(setup)
    rows = []
    for knob in reading.travels:
        driven = [
            route.destination + NOT_THERE * (route.destination not in reading.destinations)
            for route in setup.routes
            if route.knob == knob
        ]
        told = ", ".join(driven) or reading.closed(knob) or "-"
        rows.append((knob_told(knob), told, reading.travel_told(knob) if driven else ""))
    return listing(rows, title="THE KNOBS NOW", page=page)


def by_ear_lines(before: Setup, after: Setup, page: int = PAGE) -> list[str]:
    """Which knobs are to be set by ear in which snapshots; no lines where none are."""
    found = list(by_ear(before, after))
    rows = [(quoted(names), knob_cells(knobs)) for names, knobs, _ in found]
    levels = []
    for loud, those in grouped((loud, names) for names, _, loud in found if loud).items():
        where = quoted(name for names in those for name in names)
        told = f"{where}: {loud}" if len(found) > 1 else loud
        levels += paragraph(told, 2, 2, page)
    for told in (*held_still_told(before, after), *unheld_levels(before, after)):
        levels += paragraph(told, 2, 2, page)
    what = f"{'new: ' if before.voices else ''}where these are held in a snapshot is not known"
    heading = f"SET BY EAR  {what}" if rows else "SET BY EAR"
    lines = [*listing(rows, page=page), *levels]
    return [*paragraph(heading, 0, 2, page), *lines] if lines else []


def cannot_be_text(found: CannotBe, page: int = PAGE) -> str:
    """Why an edit cannot be, and what can be done instead.

    Args:
        found: what was found of it.
        page: columns of a terminal that a line may take, at most.

    Returns:
        Lines of at most so many columns, the last one ended too.
    """
    lines = paragraph(f"{found.asked}: that cannot be.", 0, 2, page)
    lines += bulleted(found.because, page=page)
    lines.append("Instead:" if len(found.instead) == 1 else "Instead, one of these:")
    lines += bulleted(found.instead, page=page)
    return "\n".join(lines) + "\n"


def change_text(
    heading: str,
    found: Edited | Heard,
    page: int = PAGE,
    *,
    panel: bool = True,
    whole: Edited | Heard | None = None,
) -> str:
    """What became of a setup as text: what was done, what stands where, and what to take care of.

    Args:
        heading: what stands over it.
        found: the setup as it was and as it is, and what was done.
        page: columns of a terminal that a line may take, at most.
        panel: whether to tell what each knob drives now, where that is otherwise than before.
        whole: the same after what it was before the first of several edits, which what is to be
            taken care of is said of; None: there is one.

    Returns:
        Lines of at most so many columns, the last one ended too.
    """
    every = whole or found
    before, after = every.before, every.setup
    (old, new), surfaces = map(read, (before, after)), (before.surface, after.surface)
    same = surfaces[0] == surfaces[1] and (old.carries, old.goes) == (new.carries, new.goes)
    care = caution_of_change(every.stood, after, every.alarming)
    sections = [headed(heading, found.sentences, page)]
    sections += [panel_lines(after, page)] if panel and not same else []
    sections += [by_ear_lines(before, after, page)]
    sections += [headed("CAUTION", care, page)] if care else []
    return text_of(sections)


HOW_TO_TELL = (
    "Where a knob is held is told in the table of the setup (knobpack table FILE --table FILE): "
    "'held at 64' in the column of the snapshot; or by a recording: knobpack listen FILE RECORDING "
    "--into SNAPSHOT."
)
"""How knobpack gets to know what is set by ear."""

MOST_TOLD = 9
"""Knobs that are told one by one where it is told in short, at most: eight and the master."""


def audit_text(found: Audit, setup: Setup, page: int = PAGE, *, by_knob: bool = True) -> str:
    """An audit as text: what is amiss and how to mend it, then what each knob does.

    Args:
        found: the audit.
        setup: what was audited.
        page: columns of a terminal that a line may take, at most.
        by_knob: whether to tell what each knob does.

    Returns:
        Lines of at most so many columns, the last one ended too.
    """
    sections = [headed(f"AUDIT  {found.setup}", found.sentences, page)]
    if by_knob:
        reading, top = read(setup), setup.surface.top
        rows = [
            (knob_told(use.knob), _does(use, reading.closed(use.knob), top))
            for use in found.by_knob
        ]
        sections.append(
            listing(rows, title=f"WHAT EACH KNOB DOES  positions 0 to {top}", page=page)
        )
    return text_of(sections)


def jumps_text(setup: Setup, jumps: tuple[Jump, ...], page: int = PAGE) -> str:
    """The worst jumps of a setup as text, with a caution where they can be loud.

    Then all knobs of which it is not known where a snapshot holds them, and how that is told.

    Args:
        setup: the setup.
        jumps: what :func:`knobpack.simulation.worst_changes` gave back for it.
        page: columns of a terminal that a line may take, at most.

    Returns:
        Lines of at most so many columns, the last one ended too.
    """
    sentences = jump_sentences(jumps)
    if not jumps and len(setup.snapshots) < 2:
        sentences = ("Fewer than two snapshots are stored: there is none to change to.",)
    elif not jumps:
        sentences = ("No knob drives anything: nothing jumps.",)
    heading = f"JUMPS  {setup.name}, when another snapshot is recalled; furthest and levels first"
    sections = [headed(heading, sentences, page)]
    unknown = by_ear_lines(Setup(setup.name, setup.surface), setup, page) if jumps else []
    if unknown:
        sections.append([*unknown, *paragraph(HOW_TO_TELL, 2, 2, page)])
    return text_of(sections)


def midi_text(
    found: ControllerNumbers,
    files: tuple[SweepFile, ...],
    page: int = PAGE,
    *,
    details: bool = True,
) -> str:
    """Controller numbers as text, then what each file does.

    Args:
        found: the numbers.
        files: the files, one for each snapshot; none if none are written.
        page: columns of a terminal that a line may take, at most.
        details: whether to say why each number, and what each file does, rather than in ten lines
            what is sent on what and whether files can be loud.

    Returns:
        Lines of at most so many columns, the last one ended too.
    """
    heading = f"CONTROLLER NUMBERS  {found.setup}"
    if not details:
        return text_of([headed(heading, _midi_in_short(found, files), page)])
    parts = [(heading, found.sentences)]
    parts += [(f"MIDI FILE  {each.file_name}", each.sentences) for each in files]
    return text_of(headed(*part, page) for part in parts)


def _midi_in_short(found: ControllerNumbers, files: tuple[SweepFile, ...]) -> Iterator[str]:
    yield found.summary
    told = grouped(
        (each.channel, f"{knob_told(each.knob) or 'the master'} on {each.sent.short}")
        for each in found.knobs
        if each.sent.bits
    )
    for channel, those in told.items():  # what is on a channel of its own is not cut away
        on = f"On channel {channel} " if len(told) > 1 else ""
        yield f"{on}{listed(those, MOST_TOLD)}."
    if found.left:
        names = [knob_told(knob) or "the master" for knob in found.left]
        yield f"Without a number: {listed(names, MOST_TOLD)}."
    if files:
        count = many(len(files), "file")
        yield f"{count}, one for each snapshot: recall that before you play the file."
    loud = [each.file_name for each in files if each.loud]
    if loud:
        which = listed(loud, 3) if len(loud) < len(files) else "Every file"
        yield f"{which} can be loud. {CAUTION}"
    yield f"Why these numbers{', and what each file does' if files else ''}: --details."


def _does(use: KnobUse, closed: str | None, top: int) -> str:
    carried = listed(use.carries)
    if use.why_dead == (causes.NO_ROUTE,):
        return closed or "free"
    if not use.live:
        told = f"dead: {listed(use.why_dead)}"
        return f"{told}; carries {carried}" if carried else told
    where = quoted(use.follows)
    over = "" if use.travel is None else f" over {travel_text(use.travel, top)}"
    told = f"moves {listed(use.driven)}{over} "
    told += "by hand alone" if use.by_hand else f"in {where}"
    still = [name for name in use.carries if name not in use.driven]
    return f"{told}; {listed(still)} on it stays at one step" if still else told
