"""Names that come close to one that is wrong: told where a word is refused, however many."""

from __future__ import annotations

import difflib
from typing import Any

import pytest

from knobpack.errors import InputError
from knobpack.words import (
    Destination,
    Fixed,
    KnobTravel,
    Layout,
    Request,
    Snapshot,
    Surface,
    Travel,
    Voice,
    VoiceLayer,
    names,
)
from knobpack.words.fields import MOST_ITEMS

ORGAN = Voice("Organ", (Destination("drawbars"),))
PAD = Voice("Glass pad", (Destination("level"),))
TOLD: list[tuple[dict[str, Any], str, str]] = [
    ({"snapshots": (Snapshot("all", ("Orgn",)),)}, "Orgn", "Organ"),
    ({"rules": (Fixed(("Organ",), "K11"),)}, "K11", "K1"),
    ({"keep": Layout.of({"K1": ["Organ/drawbar"]})}, "Organ/drawbar", "Organ/drawbars"),
    ({"keep": Layout((), (KnobTravel("k2", Travel(0, 1)),))}, "k2", "K2"),
    ({"keep": Layout((), (), (VoiceLayer("Glass pd", 1),))}, "Glass pd", "Glass pad"),
]


@pytest.mark.parametrize(("changes", "wrong", "near"), TOLD)
def test_a_request_says_what_comes_close(changes: dict[str, Any], wrong: str, near: str) -> None:
    with pytest.raises(InputError) as caught:
        Request(Surface.row(2), (ORGAN, PAD), **changes)
    assert caught.value.value == wrong
    assert f"; close to it: {near}" in caught.value.right


def test_a_surface_says_what_comes_close() -> None:
    with pytest.raises(InputError) as caught:
        Surface.row(2, reserved=("k2",))
    assert caught.value.right == "name a knob of this surface; close to it: K2"


def test_where_nothing_comes_close_nothing_is_added() -> None:
    with pytest.raises(InputError) as caught:
        Request(Surface.row(2), (ORGAN,), rules=(Fixed(("Organ",), "middle"),))
    assert caught.value.right == "name a knob of the surface"


def test_only_so_many_names_are_compared(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[int] = []
    real = difflib.get_close_matches

    def counted(word: str, names: list[str], most: int) -> list[str]:
        seen.append(len(names))
        return real(word, names, most)

    monkeypatch.setattr(difflib, "get_close_matches", counted)
    long = [f"{'x' * 115}{number:05}" for number in range(MOST_ITEMS)]
    # One that holds it is found all the same, where it stands last.
    assert names.close(long[-1][1:], long)[0] == long[-1]
    assert names.close("ab", ["abc", "abd"]) == ["abc", "abd"]
    assert seen == [1_000_000 // (119 * 120), 2]


def test_a_hint_is_short() -> None:
    assert names.hint([]) == names.hint(["x" * 201]) == ""
    assert names.hint(["a", "x" * 201]) == "; close to it: a and 1 more"
    assert names.hint(list("abcdef")) == "; close to it: a, b, c, d, e and 1 more"
