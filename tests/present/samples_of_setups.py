"""What the tests of jobs with setups share: the demo's files, and what is to come of them."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path

from knobpack.combination.answer import Combination
from knobpack.combination.combiner import combine
from knobpack.files import save
from knobpack.present.demo import SETUPS, demo_setups
from knobpack.words import Setup

BASE, ORGAN, BASS, LATE = demo_setups().values()


@cache
def combined(*sources: Setup) -> Combination:
    """The demo's base with these sources."""
    return combine(BASE, *sources)


def written(folder: Path) -> list[str]:
    """Write the demo's setups to a folder; the paths of the base and the two that come first."""
    folder.mkdir(exist_ok=True)
    for name, setup in demo_setups().items():
        save(folder / name, setup)
    return [str(folder / name) for name in SETUPS[:3]]


def squeezed(text: str) -> str:
    """A text without the spaces and line breaks that only lay it out."""
    return "".join(text.split())


def holds(text: str, parts: Sequence[str]) -> list[str]:
    """Those of the parts that a text does not hold, wherever its lines may be broken."""
    whole = squeezed(text)
    return [part for part in parts if squeezed(part) not in whole]
