"""Looks that differ, texts that fit, names that keep their distance."""

from __future__ import annotations

from itertools import pairwise

import pytest
from matplotlib.colors import to_rgb

from knobpack.pictures.canvas import COLOURS, HATCHES, fitted, length, look_of
from knobpack.pictures.lines import apart


def test_the_looks_of_sixty_three_voices_all_differ() -> None:
    assert len({look_of(number) for number in range(len(COLOURS) * len(HATCHES))}) == 63


def test_neighbouring_looks_differ_in_grey() -> None:
    """Relative luminance as WCAG 2.2 defines it, or else the hatching, tells neighbours apart."""

    def luminance(colour: str) -> float:
        linear = [
            c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)
        ]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    for number in range(62):
        one, other = look_of(number), look_of(number + 1)
        light, dark = sorted((luminance(one.colour), luminance(other.colour)), reverse=True)
        assert one.hatch != other.hatch
        assert (light + 0.05) / (dark + 0.05) > 1.1


def test_a_text_is_cut_to_its_room() -> None:
    assert fitted("Pad", 5, 8) == "Pad"
    cut = fitted("A name that is far too long", 1, 8)
    assert cut.endswith("…")
    assert length(cut, 8) <= 1 < length(cut[:-1] + "nn…", 8)
    assert fitted("A name", 0, 8) == ""


def test_of_a_destination_the_voice_is_cut_so_that_two_can_be_told_apart() -> None:
    long = "Felt piano (Tin roof set)"
    cut = [fitted(f"{long}/{inner}", 1.3, 8) for inner in ("level", "tone")]
    assert [each.split("…")[1] for each in cut] == ["/level", "/tone"]
    assert all(each.startswith("Felt p") and length(each, 8) <= 1.3 for each in cut)
    # Too little of the voice would be left: the end is cut after all.
    narrow = fitted(f"{long}/a destination with a long name", 1.3, 8)
    assert narrow.startswith("Felt piano")
    assert narrow.endswith("…")


@pytest.mark.parametrize("ends", [[], [5], [5, 5, 5], [0, 100, 50, 51], list(range(40))])
def test_names_beside_lines_keep_their_order_and_their_distance(ends: list[float]) -> None:
    heights = apart(ends, 100)
    order = sorted(range(len(ends)), key=lambda at: ends[at])
    placed = [heights[at] for at in order]
    least = min(6.5, 108 / max(1, len(ends) - 1))
    assert all(b - a >= least - 1e-9 for a, b in pairwise(placed))
    assert all(height <= 104 + 1e-9 for height in placed)
