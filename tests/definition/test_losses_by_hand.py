"""What is left out, parted and broken, against sums done by hand.

Every example is on a row of knobs K1, K2, … at 7 bits, so positions run from 0 to 127, with the
default weights.
"""

from __future__ import annotations

import attrs
import pytest

from knobpack.checker import check, follows
from knobpack.definition.prices import (
    Break,
    BundlePrice,
)
from knobpack.words import (
    Destination,
    Fixed,
    Layout,
    Request,
    Snapshot,
    Surface,
    Voice,
)
from tests.oracles.example import ALL, a_request, totals


def test_unplaced() -> None:
    # An essential destination costs 256, a low one 4, a hidden one nothing; it costs 99 in sharing.
    layout = Layout.of({"K1": ["Pad/level"], "K2": ["Pad/pan"]})
    assert totals(a_request(), layout)[:4] == (260, 0, 0, 99)
    assert [(each.price, each.hidden) for each in check(a_request(), layout).prices.omissions] == [
        *((256, 0), (4, 0), (0, 99)),
    ]


def test_independence_counts_the_smaller_side() -> None:
    # Pad moves, Bass is held. K1 carries three of Pad and one of Bass: it follows, and the one of
    # Bass is moved though held: 7. K2 carries nothing that breaks.
    pad = (Snapshot("pad", ("Pad",), break_weight=7),)
    layout = Layout.of({"K1": ALL[:4], "K2": ALL[4:]})
    checked = check(a_request(snapshots=pad), layout)
    assert checked.prices.breaks == (Break("pad", "K1", True, ("Bass/cutoff",), 7),)
    assert follows(a_request(snapshots=pad), layout, "pad") == ("K1",)
    # One and two: it is held, and the one of Pad is held though moved: 7. On K1 both of Pad follow.
    layout = Layout.of({"K1": ALL[:2], "K2": ALL[2:]})
    checked = check(a_request(snapshots=pad), layout)
    assert checked.prices.breaks == (Break("pad", "K2", False, ("Pad/pan",), 7),)
    assert follows(a_request(snapshots=pad), layout, "pad") == ("K1",)
    # One and one: a tie is held; the moved one is wronged.
    checked = check(a_request(snapshots=pad), Layout.of({"K1": ["Pad/pan", "Bass/drive"]}))
    assert checked.prices.breaks == (Break("pad", "K1", False, ("Pad/pan",), 7),)


@pytest.mark.parametrize(
    ("there", "on", "wronged"),
    [
        # Pad is to move, Bass to be held; what shared a knob there may go on doing so.
        (("Pad/cutoff", "Bass/cutoff"), ("Pad/cutoff", "Bass/cutoff"), None),
        (("Pad/cutoff", "Bass/cutoff"), ("Pad/cutoff", *ALL[3:]), (False, "Pad/cutoff")),
        (("Pad/cutoff", "Bass/cutoff"), ("Pad/cutoff", "Pad/level", ALL[3]), (True, ALL[3])),
        (("Pad/cutoff", *ALL[3:]), (*ALL[:2], *ALL[3:]), (False, "Pad/level")),
        (("Pad/cutoff", "Pad/level"), ("Pad/cutoff", "Pad/level"), None),
    ],
)
def test_in_an_edit_only_what_is_up_against_something_new_is_wronged(
    there: tuple[str, ...], on: tuple[str, ...], wronged: tuple[bool, str] | None
) -> None:
    pad = (Snapshot("pad", ("Pad",), break_weight=7),)
    request = a_request(snapshots=pad, previous=Layout.of({"K1": there}), in_use=True)
    breaks = (Break("pad", "K1", wronged[0], wronged[1:], 7),) if wronged else ()
    assert check(request, Layout.of({"K1": on})).prices.breaks == breaks


def test_what_is_not_movable_is_held_in_every_snapshot() -> None:
    still = Voice("Pad", (Destination("cutoff"), Destination("level", movable=False)))
    request = a_request(voices=(still,), snapshots=(Snapshot("all", ("Pad",), break_weight=5),))
    layout = Layout.of({"K1": ["Pad/cutoff", "Pad/level"]})
    assert check(request, layout).prices.breaks == (Break("all", "K1", False, ("Pad/cutoff",), 5),)


def test_a_break_says_what_is_wronged() -> None:
    both = Break("all", "K1", True, ("Pad/a", "Pad/b"), 3)
    assert str(both) == "K1 follows, but should hold Pad/a and Pad/b"
    assert str(Break("all", "4", False, ("Pad/a",), 3)) == "knob 4 holds, but should move Pad/a"


def bundled(*sizes: tuple[str, str | None, int], priority: int = 3) -> Request:
    """Voices by name, source and number of destinations, all of which were on S1 there."""
    voices = []
    for name, source, count in sizes:
        inner = (Destination(f"d{i}", "level", priority, source_knob="S1") for i in range(count))
        voices.append(Voice(name, tuple(inner), source=source))
    return Request(Surface.row(3), tuple(voices), snapshots=())


def test_a_parted_bundle() -> None:
    # Three destinations of one source, of two voices, were on S1; now on three knobs: 3 - 1. The
    # fourth had the same knob in a voice without a source, which is no part of the bundle.
    request = bundled(("A", "Old", 2), ("B", "Old", 1), ("C", None, 1))
    layout = Layout.of({"K1": ["A/d0"], "K2": ["A/d1", "C/d0"], "K3": ["B/d0"]})
    (parted,) = check(request, layout).prices.bundles
    assert parted == BundlePrice("parted", "bundle of S1 in Old", ("K1", "K2", "K3"), (), 2)
    # Two knobs, and one left out: 2 + 1 - 1. On one knob: nothing. All left out: 3 - 1.
    layout = Layout.of({"K1": ["A/d0"], "K2": ["A/d1"]})
    assert check(request, layout).prices.bundles == (
        BundlePrice("parted", "bundle of S1 in Old", ("K1", "K2"), ("B/d0",), 2),
    )
    assert totals(request, Layout.of({"K2": ["A/d0", "A/d1", "B/d0", "C/d0"]}))[1] == 0
    assert totals(request, Layout.of({"K1": ["C/d0"]}))[1] == 2


def test_a_voice_without_a_source_has_bundles_of_its_own() -> None:
    request = bundled(("A", None, 2), ("B", None, 2))
    layout = Layout.of({"K1": ["A/d0", "B/d0", "B/d1"], "K2": ["A/d1"]})
    assert check(request, layout).prices.bundles == (
        BundlePrice("parted", "bundle of S1 in A", ("K1", "K2"), (), 1),
    )


def test_what_is_hidden_joins_nothing_but_its_bundle() -> None:
    hidden = Voice("Noise", (Destination("hiss", priority=5), Destination("hum", priority=5)))
    request = bundled(("A", "Old", 2), priority=5)
    request = attrs.evolve(request, voices=(*request.voices, hidden))
    # The bundle is whole on K1, each of the others alone.
    apart = Layout.of({"K1": ["A/d0", "A/d1"], "K2": ["Noise/hiss"], "K3": ["Noise/hum"]})
    assert totals(request, apart)[1] == 0
    # On one knob both of them intrude; beside the bundle, all that are there do.
    both = Layout.of({"K1": ["A/d0", "A/d1"], "K2": ["Noise/hiss", "Noise/hum"]})
    assert check(request, both).prices.bundles == (
        BundlePrice("intruding", "Noise/hiss", ("K2",), (), 1),
        BundlePrice("intruding", "Noise/hum", ("K2",), (), 1),
    )
    beside = Layout.of({"K1": ["A/d0", "Noise/hiss"], "K2": ["A/d1"]})
    assert [(each.term, each.what) for each in check(request, beside).prices.bundles] == [
        *(("parted", "bundle of S1 in Old"), ("intruding", "A/d0"), ("intruding", "Noise/hiss")),
    ]
    # Where it is demanded it may join.
    must = attrs.evolve(
        hidden, destinations=(attrs.evolve(hidden.destinations[0], must_place=True),)
    )
    asked = attrs.evolve(request, voices=(must,))
    fixed = (Fixed(("Noise/hiss",), "K1"),)
    for each in (asked, attrs.evolve(request, rules=fixed)):
        names = [name for name in each.by_full_name if name != "Noise/hum"]
        assert "Noise/hiss" not in {
            price.what for price in check(each, Layout.of({"K1": names})).prices.bundles
        }
