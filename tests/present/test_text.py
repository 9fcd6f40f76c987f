"""Text: every number and name in it is the allocation's own, however odd the request."""

from __future__ import annotations

import attrs
import pytest

from benchmarks.requests import eight_knobs
from knobpack.allocation import Tier
from knobpack.allocator import allocate_request
from knobpack.clash import ImpossibleDemands
from knobpack.definition.phrases import CAUTION, travel_text
from knobpack.errors import Stopped
from knobpack.limits import Progress
from knobpack.present.text import clash_text, layout_text, progress_text
from knobpack.text import columns
from knobpack.words import (
    Alone,
    Destination,
    Fixed,
    Layout,
    Request,
    Route,
    Snapshot,
    Surface,
    Travel,
    Voice,
    VoiceLayer,
)
from tests.oracles.strategies import seeded_request
from tests.present import read_text
from tests.present.read_text import sections, split
from tests.present.text_agrees import agree


@pytest.mark.parametrize("seed", range(12))
def test_the_text_says_what_the_allocation_says(seed: int) -> None:
    found = allocate_request(eight_knobs(seed))
    assert read_text.widest(layout_text(found)) <= columns.PAGE == 100
    agree(found, read_text.read(found))


@pytest.mark.parametrize("seed", range(200))
def test_the_text_is_right_for_requests_with_every_feature(seed: int) -> None:
    asked = seeded_request(seed)
    found = None
    try:
        found = allocate_request(asked)
        text = layout_text(found)
    except ImpossibleDemands as error:
        text = clash_text(error.clash)
    assert read_text.widest(text) <= columns.PAGE
    assert text.endswith("\n")
    assert "\n\n\n" not in text
    if found is None:
        return
    agree(found, read_text.read(found))


def small(**more: object) -> Request:
    """Two voices that are played apart, on three knobs."""
    plain: dict[str, object] = {
        "surface": Surface.row(3),
        "voices": (
            Voice("Pad", (Destination("cutoff"), Destination("level")), 1, "Old set"),
            Voice("Bass", (Destination("level", priority=1),), 1, "New set"),
        ),
        "snapshots": (Snapshot("both", ("Pad", "Bass")), Snapshot("pad", ("Pad",))),
    }
    return Request(**(plain | more))  # type: ignore[arg-type]


def test_what_is_not_proven_is_said_with_its_bound_and_the_reason() -> None:
    found = allocate_request(small())
    instead = {"sharing": Tier("sharing", 1500, 1200, False), "change": Tier("change", 0, 0, False)}
    tiers = tuple(instead.get(tier.name, tier) for tier in found.tiers)
    stops: tuple[tuple[Stopped, str], ...] = (
        ("time limit", "stopped by the time limit"),
        ("cancelled", "cancelled"),
        ("effort", "stopped by the limit of effort"),
        ("the limits of its methods", "too large to be proven, whatever time it is given"),
        ("a known answer", "ended once what was asked was known"),
    )
    for stopped, words in stops:
        text = layout_text(attrs.evolve(found, tiers=tiers, stopped=stopped))
        assert text.startswith(f"LAYOUT  best found, not proven best: {words}\n")
        lines = {row[0]: row[1:] for row in map(split, sections(text)["HOW GOOD"][1:])}
        assert lines["destinations left out"] == ["0", "proven least"]
        assert lines["sharing knobs"] == ["1,500", "not proven; it cannot be below 1,200"]
        shared = attrs.evolve(instead["sharing"], as_shared=1500)
        again = tuple(shared if tier.name == "sharing" else tier for tier in tiers)
        text = layout_text(attrs.evolve(found, tiers=again, stopped=stopped))
        (told,) = (row for row in sections(text)["HOW GOOD"] if row.strip().startswith("sharing"))
        assert told.endswith("least for what shares a knob here; it cannot be below 1,200")
        assert lines["routes changed"][1].startswith("proven least only for what the lines above")
    assert layout_text(found).startswith("LAYOUT  proven best\n3 of 3 destinations of 2 voices")


def test_unused_reserved_and_kept_knobs_are_marked() -> None:
    request = small(
        surface=Surface.row(6, reserved=("K5", "K6")),
        keep=Layout((Route("Pad/level", "K6"),), layers=(VoiceLayer("Pad", 3),)),
    )
    told = sections(layout_text(allocate_request(request)))
    marks = {knob: marks for knob, (marks, _) in read_text.knobs(told["KNOBS"]).items()}
    assert marks["K5"] == ["unused", "reserved: takes no new route"]
    assert marks["K6"][1:] == ["kept as the base has it", "reserved: takes no new route"]
    assert sum(words[0] == "unused" for words in marks.values()) == 3
    rows = {row[0]: row[1:] for row in map(split, told["LAYERS"][2:])}
    assert rows["Pad"] == ["Old set", "1", "3", "kept as the base has it"]
    assert rows["Bass"] == ["New set", "1", "1"]


def test_a_kept_route_among_new_ones_is_told_from_them() -> None:
    request = small(
        surface=Surface.row(2),
        keep=Layout((Route("Pad/level", "K1"),)),
        rules=(Fixed(("Bass",), "K2"),),
    )
    told = read_text.knobs(sections(layout_text(allocate_request(request)))["KNOBS"])
    marks, under = told["K1"]
    assert marks[1] == "the base's, with more on it"
    assert {line.name: line.notes for line in under} == {
        "Pad/cutoff": "",
        "Pad/level": "kept as the base has it",
    }


def test_a_broken_snapshot_says_what_is_wronged() -> None:
    snapshots = (Snapshot("both", ("Pad", "Bass")), Snapshot("pad", ("Pad",), break_weight=7))
    request = small(surface=Surface.row(1), snapshots=snapshots)
    lines = sections(layout_text(allocate_request(request)))["SNAPSHOTS"]
    assert [line.strip() for line in lines[2:]] == [
        "both  K1                 none",
        "pad   K1                 none",
        "- broken: K1 follows, but should hold Bass/level",
    ]


@pytest.mark.parametrize(
    ("travel", "top", "words"),
    [
        (Travel(0, 127), 127, "0 to 127 (full)"),
        (Travel(0, 64), 127, "0 to 64 (half)"),
        (Travel(64, 127), 127, "64 to 127 (half)"),
        (Travel(127, 0), 127, "127 to 0 (reversed)"),
        (Travel(64, 0), 127, "64 to 0 (reversed, half)"),
        (Travel(0, 16383), 16383, "0 to 16383 (full)"),
        # 90 of 127 positions are 70.87 hundredths.
        (Travel(20, 110), 127, "20 to 110 (71 %)"),
        (Travel(5, 5), 127, "5 to 5 (does nothing)"),
    ],
)
def test_travels_are_told_in_positions_and_words(travel: Travel, top: int, words: str) -> None:
    assert travel_text(travel, top) == words


@pytest.mark.parametrize(
    ("kind", "loud"),
    [("level", True), ("Output Level", True), ("dry-volume", True), ("pan", False)],
)
def test_a_caution_is_given_where_the_master_moves_what_is_loud(kind: str, loud: bool) -> None:
    # Which kinds can change how loud a voice is: common practice, no source.
    voices = (Voice("Pad", (Destination("x", kind=kind), Destination("cutoff"))),)
    moved = small(voices=voices, snapshots=(Snapshot("all", ("Pad",)),))
    told = sections(layout_text(allocate_request(moved)))
    assert ("CAUTION" in told) == loud
    if loud:
        knob = next(r.knob for r in allocate_request(moved).routes if r.destination == "Pad/x")
        words = " ".join(line.strip() for line in told["CAUTION"]).strip()
        assert words == f"Levels, or what can change them, move on {knob}. {CAUTION}"
    held = small(voices=voices, snapshots=(Snapshot("all", ("Pad/cutoff",)),))
    assert "CAUTION" not in sections(layout_text(allocate_request(held)))
    still = (Voice("Pad", (Destination("x", kind=kind, travel=Travel(9, 9)),)),)
    empty = small(voices=still, snapshots=(Snapshot("all", ("Pad",)),))
    assert "CAUTION" not in sections(layout_text(allocate_request(empty)))


def test_an_empty_request_has_a_text() -> None:
    request = Request(Surface(()), (), snapshots=())
    assert layout_text(allocate_request(request)).startswith(
        "LAYOUT  proven best\n0 of 0 destinations of 0 voices placed, on 0 of 0 knobs\n"
    )


def test_a_clash_is_told_in_the_words_of_its_demands() -> None:
    request = small(rules=(Fixed(("Pad",), "K1"), Fixed(("Bass",), "K1")))
    with pytest.raises(ImpossibleDemands) as raised:
        allocate_request(request)
    clash = raised.value.clash
    text = clash_text(clash)
    lines = text.split("\n")
    assert lines[0] == "no layout meets every demand. These clash:"
    assert "  - the rule fixed(Bass; K1) holds" in lines
    for demand in clash.demands:
        assert f"  - {demand}" in lines
    cut = lines.index("To get out, do one of these:")
    assert lines[cut + 1 : -1] == [f"  - {way}" for way in clash.ways_out]
    assert "Perhaps" not in text
    assert "Perhaps not all" in clash_text(attrs.evolve(clash, minimal=False))


def test_a_clash_of_too_few_knobs_counts_them() -> None:
    must = tuple(
        Voice(name, (Destination("level", must_place=True),)) for name in ("Pad", "Bass", "Lead")
    )
    snapshots = tuple(Snapshot(voice.name, (voice.name,)) for voice in must)
    with pytest.raises(ImpossibleDemands) as raised:
        allocate_request(small(surface=Surface.row(2), voices=must, snapshots=snapshots))
    text = clash_text(raised.value.clash)
    assert "These 3 are separated from each other, and there are 2 knobs for them." in text
    assert "  - use a surface with 3 knobs\n" in text


def test_progress_is_one_short_line() -> None:
    assert progress_text(Progress("sharing", 7350, 6485, 2.34)) == (
        "sharing knobs: 7,350 so far, cannot be below 6,485 (2.3 s)"
    )
    assert progress_text(Progress("unplaced", None, 0, 0.0)) == (
        "destinations left out: no layout yet, cannot be below 0 (0.0 s)"
    )


def test_a_free_knob_is_told_with_what_it_could_be_used_for() -> None:
    """A bundle of two stays whole though a knob is free; the rule of the offer parts it."""
    voice = Voice(
        "Organ", (Destination("level", source_knob="K1"), Destination("drive", source_knob="K1"))
    )
    request = Request(Surface.row(2), (voice,))
    found = allocate_request(request)
    told = read_text.read(found)
    agree(found, told)
    assert found.used == ("K1",)
    assert "BUNDLES" not in told
    first, offer, other = told["FREE KNOBS"]
    assert other.startswith("  - Organ/drive could have K2 instead of sharing K1, which parts a b")
    assert first == "K2: room for what comes next"
    rule = Alone(("Organ/level",))
    assert offer.endswith(f"ask for it with {rule}")
    taken = allocate_request(attrs.evolve(request, rules=(rule,)))
    told = read_text.read(taken)
    agree(taken, told)
    assert "FREE KNOBS" not in told
    heading, parted = told["BUNDLES"][1:]
    assert heading == "  parted:"
    assert parted == (
        f"    The bundle of K1 in Organ is parted: it is on K1 and K2, because the rule {rule} "
        "lets Organ/level share no knob with Organ/drive."
    )


def test_bundles_that_are_joined_are_told_first() -> None:
    """Two bundles of one source on a panel of one knob."""
    voice = Voice(
        "Strings",
        tuple(
            Destination(name, source_knob=knob)
            for name, knob in (("level", "K1"), ("cutoff", "K1"), ("attack", "K4"))
        ),
        source="Hall set",
    )
    found = allocate_request(Request(Surface.row(1), (voice,)))
    told = read_text.read(found)
    agree(found, told)
    assert list(told)[:3] == ["LAYOUT", "BUNDLES", "HOW GOOD"]
    assert told["BUNDLES"] == [
        "",
        "  joined because knobs ran out; what shares a knob can no longer be moved apart:",
        "    K1  K1 and K4 of Hall set",
    ]
