"""Loudness: which kinds of destinations are how loud a voice is, or can change that."""

from __future__ import annotations

_LEVELS = frozenset(
    {
        "amplitude",
        "boost",
        "drive",
        "feedback",
        "gain",
        "level",
        "loudness",
        "output",
        "volume",
        "resonance",
    }
)
"""Words in the name of a kind that can change how loud it is (common practice, no source)."""

_LOUDNESS = frozenset({"amplitude", "level", "loudness", "volume"})
"""Words in the name of a kind that is how loud a voice is (common practice, no source)."""

_SENDS = frozenset({"echo", "reverb", "send", "sends", "wet"})
"""Words in the name of a kind that adds an effect to a voice (common practice, no source)."""


def is_level(kind: str) -> bool:
    """Whether a destination of this kind is how loud a voice is."""
    return not _LOUDNESS.isdisjoint(_words(kind))


def level_like(kind: str) -> bool:
    """Whether a destination of this kind can change how loud a voice is."""
    return not _LEVELS.isdisjoint(_words(kind))


def louder_with_more(kind: str) -> bool:
    """Whether more of a destination of this kind is louder: a level, a drive, a send."""
    return level_like(kind) or not _SENDS.isdisjoint(_words(kind))


def _words(kind: str) -> list[str]:
    return kind.casefold().replace("-", " ").split()
