"""Setup text: what an audit and a simulation say of a setup, as a player reads it in a terminal.

Plain lines of at most so many columns, in the answers' own sentences.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from knobpack.auditing import causes
from knobpack.auditing.findings import Audit, KnobUse
from knobpack.columns import PAGE, listing, paragraph
from knobpack.phrases import travel_text
from knobpack.setup_as_read import read
from knobpack.sheets.text import text_of
from knobpack.simulation import Jump, Sweep, jump_sentences
from knobpack.words import Setup
from knobpack.words.names import knob_told, listed

if TYPE_CHECKING:
    from knobpack.midi import ControllerNumbers, Heard, Imported, SweepFile
    from knobpack.sheets import PatchSheet


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
    lines = _told(f"AUDIT  {found.setup}", found.sentences, page)
    if by_knob:
        reading, top = read(setup), setup.surface.top
        rows = [
            (knob_told(use.knob), _does(use, reading.closed(use.knob), top))
            for use in found.by_knob
        ]
        lines += ["", f"WHAT EACH KNOB DOES  positions 0 to {top}", *listing(rows, page=page)]
    return "\n".join(lines) + "\n"


def sheet_text(sheet: PatchSheet, page: int = PAGE) -> str:
    """A patch sheet as text: what stands in a file, in narrower lines.

    Returns:
        Lines of at most so many columns, the last one ended too.
    """
    return text_of(sheet.before, sheet.after, sheet.steps, page)


def sweep_text(found: Sweep, page: int = PAGE) -> str:
    """A sweep as text: what the master moves, over what, and what is held.

    Returns:
        Lines of at most so many columns, the last one ended too.
    """
    return "\n".join(_told(f"SWEEP  {found.setup}", found.sentences, page)) + "\n"


def jumps_text(setup: Setup, jumps: tuple[Jump, ...], page: int = PAGE) -> str:
    """The worst jumps of a setup as text, the worst first, and a caution where they can be loud.

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
    heading = f"JUMPS  {setup.name}, when another snapshot is recalled; the worst first"
    return "\n".join(_told(heading, sentences, page)) + "\n"


def midi_text(found: ControllerNumbers, files: tuple[SweepFile, ...], page: int = PAGE) -> str:
    """Controller numbers as text, then what each file does.

    Args:
        found: the numbers.
        files: the files, one for each snapshot; none if none are written.
        page: columns of a terminal that a line may take, at most.

    Returns:
        Lines of at most so many columns, the last one ended too.
    """
    lines = _told(f"CONTROLLER NUMBERS  {found.setup}", found.sentences, page)
    for each in files:
        lines += ["", *_told(f"MIDI FILE  {each.file_name}", each.sentences, page)]
    return "\n".join(lines) + "\n"


def heard_text(found: Heard, page: int = PAGE) -> str:
    """What was heard and put into a setup: lines of at most so many columns."""
    return "\n".join(_told(f"HEARD  {found.setup.name}", found.sentences, page)) + "\n"


def list_text(found: Imported, page: int = PAGE) -> str:
    """What controller lists brought: lines of at most so many columns."""
    return "\n".join(_told("CONTROLLER LISTS", found.sentences, page)) + "\n"


def _does(use: KnobUse, closed: str | None, top: int) -> str:
    carried = listed(use.carries)
    if use.why_dead == (causes.NO_ROUTE,):
        return closed or "free"
    if not use.live:
        told = f"dead: {listed(use.why_dead)}"
        return f"{told}; carries {carried}" if carried else told
    where = listed([f"'{name}'" for name in use.follows])
    over = "" if use.travel is None else f" over {travel_text(use.travel, top)}"
    told = f"moves {listed(use.driven)}{over} "
    told += "by hand alone" if use.by_hand else f"in {where}"
    still = [name for name in use.carries if name not in use.driven]
    return f"{told}; {listed(still)} on it stays at one step" if still else told


def sentences_text(heading: str, sentences: Iterable[str], page: int = PAGE) -> str:
    """Sentences under a heading: lines of at most so many columns, the last one ended too."""
    return "\n".join(_told(heading, sentences, page)) + "\n"


def _told(heading: str, sentences: Iterable[str], page: int) -> list[str]:
    lines = paragraph(heading, 0, 2, page)
    for sentence in sentences:
        lines += paragraph(sentence, 2, 2, page)
    return lines
