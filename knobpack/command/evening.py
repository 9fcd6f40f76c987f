"""The evening: the whole job on the setups of the demo, chapter by chapter.

It is what ``knobpack demo`` shows: two sources brought to a base, one that comes
late, and a knob that breaks at the sound check.
"""

from __future__ import annotations

from collections.abc import Iterator

from knobpack.definition.phrases import CAUTION
from knobpack.present.demo import SETUPS, demo_setups
from knobpack.present.setup_text import panel_lines
from knobpack.text.columns import headed, listing, paragraph, text_of
from knobpack.words import Setup

BROKEN = "K7"
"""The knob that breaks."""

DO_IT_YOURSELF = (
    ("knobpack demo demo", "writes these setups, and says how to combine them"),
    ("knobpack --help", "all else: audits, edits, sheets, MIDI, questions"),
)


def evening(wide: int) -> Iterator[str]:
    """The text in lines of so many columns, a chapter at a time, each worked out when asked for."""
    from knobpack.combination.combine import combine
    from knobpack.edits.edit import edit
    from knobpack.present.combination_text import combination_text
    from knobpack.words.setup_edits import OutOfUse

    base, *sources, late = (demo_setups()[name] for name in SETUPS)
    tonight = combine(base, *sources)
    yield _chapter(
        "1  Two sources come to the base", combination_text(tonight, wide), tonight.setup, wide
    )
    more = combine(tonight.setup, late)
    yield _chapter(
        "2  A source comes late: nothing else moves",
        combination_text(more, wide),
        more.setup,
        wide,
    )
    mended = edit(more.setup, OutOfUse(BROKEN))
    yield _chapter(
        f"3  {BROKEN} breaks at the sound check",
        text_of([headed(f"EDIT  {mended.setup.name}", mended.sentences, wide)]),
        mended.setup,
        wide,
    )
    yield (
        "\n".join([*paragraph(CAUTION, 0, 0, wide), "", *listing(DO_IT_YOURSELF, page=wide)]) + "\n"
    )


def _chapter(title: str, told: str, setup: Setup, wide: int) -> str:
    return text_of((paragraph(title, 0, 3, wide), told.splitlines(), panel_lines(setup, wide)))
