"""Points of a show: what is proven of them, part by part, and how far off a show may be."""

from __future__ import annotations

import attrs
import pytest

from knobpack.present.show_text import show_text
from knobpack.show import SHOW_TIERS
from knobpack.show.answer import PART_WORDS, ShowAllocation
from tests.show.evening import laid_out


def with_bound(found: ShowAllocation, name: str, less: int) -> ShowAllocation:
    """A show of which only so much less is proven in one tier, and no more of those after it."""
    at, tiers = SHOW_TIERS.index(name), list(found.tiers)
    tiers[at] = attrs.evolve(tiers[at], bound=tiers[at].value - less)
    tiers[at:] = [attrs.evolve(tier, proven=False) for tier in tiers[at:]]
    return attrs.evolve(found, tiers=tuple(tiers), stopped="effort")


def test_all_is_proven_of_a_show_that_is() -> None:
    found = laid_out()
    assert [proof for _, _, proof in found.points] == ["proven"] * len(found.points)
    for tier, told in (("relearning", "to be relearned"), ("moves", "moved from song to song")):
        parts = [(f"{told}: {PART_WORDS[part]}", n) for part, n in found.prices.parts(tier)]
        assert [(w, v) for w, v, _ in found.points if w.startswith(told)] == parts
    values = {what: value for what, value, _ in found.points}
    assert values["sharing knobs"] == found.tier("sharing").value
    assert found.verdict[0].endswith(", proven best.")


@pytest.mark.parametrize("part", range(3))
def test_it_is_told_how_far_the_first_part_may_be_off_of_which_less_is_proven(part: int) -> None:
    found = laid_out()
    counts, sizes = found.prices.relearning, (*found.prices.sizes[:2], 1)
    short = with_bound(found, "relearning", sizes[part])
    proofs = [proof for what, _, proof in short.points if what.startswith("to be relearned")]
    least = f"at least {counts[part] - 1}"
    assert proofs == [*["proven"] * part, least, *[""] * (2 - part)]
    first, unknown, _ = short.verdict
    assert first == "4 songs on 3 knobs, best found, not proven best."
    said = "Whether less has to be relearned is not known; what counts more is proven best."
    assert unknown == said
    text = " ".join(show_text(short).split())
    assert f"{first} {unknown}" in text
    assert "POINTS fewer are better; stopped by the limit of effort" in text


@pytest.mark.parametrize("tier", SHOW_TIERS)
def test_the_first_tier_that_is_not_proven_is_said_in_words(tier: str) -> None:
    told = with_bound(laid_out(), tier, 0).verdict[1]
    assert told.startswith("Whether ")
    assert ("what counts more is proven best" in told) == (tier != "unplaced")
