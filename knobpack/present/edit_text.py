"""Edit text: what an edit moved and why, as a player reads it in a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knobpack.columns import PAGE, paragraph

if TYPE_CHECKING:
    from knobpack.edits.answer import Edited


def edit_text(found: Edited, page: int = PAGE, head: str = "EDIT") -> str:
    """An edit as text: lines of at most so many columns, the last one ended too."""
    lines = paragraph(f"{head}  {found.setup.name}", 0, 2, page)
    for sentence in found.sentences:
        lines += paragraph(sentence, 2, 2, page)
    return "\n".join(lines) + "\n"
