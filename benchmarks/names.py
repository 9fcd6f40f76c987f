"""The invented names that the seeded requests are made of."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count

KINDS = (
    ("level", 9),
    ("cutoff", 9),
    ("resonance", 6),
    ("attack", 5),
    ("release", 5),
    ("pan", 4),
    ("send", 4),
    ("depth", 4),
    ("rate", 4),
    ("drive", 3),
    ("decay", 3),
    ("sustain", 2),
    ("detune", 2),
    ("width", 2),
    ("mix", 2),
    ("feedback", 1),
    ("time", 1),
    ("tone", 1),
)
"""What destinations control, and how often, in parts of the sum (common practice, no source)."""

VOICES = (
    "Glass choir",
    "Low strings",
    "Slow brass",
    "Bright keys",
    "Dark bass",
    "Thin pulse",
    "Wide pad",
    "Soft bells",
    "Rough lead",
    "Air noise",
    "Wood pluck",
    "Far organ",
)
SOURCES = (
    "Evening setup",
    "Rehearsal setup",
    "Winter setup",
    "Small stage",
    "Old trio",
    "Studio sketch",
)
GROUPS = ("Ground", "Middle", "Top", "Colour", "Answer", "Echo")
SNAPSHOTS = ("Opening", "Verse", "Bridge", "Solo", "Refrain", "Quiet part", "Build", "Finale")


def numbered(names: tuple[str, ...]) -> Iterator[str]:
    """The names in turn, for ever; from the second round on they bear its number."""
    for turn in count(1):
        for name in names:
            yield name if turn == 1 else f"{name} {turn}"
