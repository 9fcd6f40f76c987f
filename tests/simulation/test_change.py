"""Changes of snapshot: worked by hand, against a setup played in plain Python, and the worst.

What a recall does to a knob is common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from itertools import permutations
from typing import Any

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobpack.definition.phrases import CAUTION
from knobpack.errors import InputError
from knobpack.positions import Curve
from knobpack.simulation import Response, change, jump_sentences, sweep, worst_changes
from knobpack.words import KnobPosition, Setup, Snapshot
from tests.oracles.amount import EXAMPLES
from tests.oracles.simulation import Plain, played
from tests.simulation.setups import (
    seeded_setup,
    some_responses,
    some_start,
    stored,
    two_voices,
    with_kind,
)


def at(**positions: int) -> tuple[KnobPosition, ...]:
    return tuple(KnobPosition(knob, position) for knob, position in positions.items())


def test_what_newly_follows_goes_to_the_master_at_once() -> None:
    # Only Lead was in force: it holds Pad's knobs at the start of their travels, 0 and 1023.
    # At 768 of 1023 the half travel is at 768 · 512 / 1023 = 384.4, the reversed one at 255.
    jumps = change(stored(), "only Lead", "only Pad", 768)
    assert [
        (jump.destination, jump.from_position, jump.to_position, jump.share) for jump in jumps
    ] == [
        ("Pad/level", 1023, 255, 768 / 1023),
        ("Pad/cutoff", 0, 384, 384 / 1023),
        ("Lead/wave", 768, 768, 0.0),  # it followed, and is held now where it is
        ("Lead/pan", 300, 300, 0.0),
    ]
    assert [(jump.from_received, jump.to_received) for jump in jumps[:2]] == [
        (1.0, 255 / 1023),
        (0.0, 384 / 1023),
    ]
    assert all(jump.from_known and jump.to_known for jump in jumps)
    when = "'only Pad' after 'only Lead' with the master at 768"
    assert jump_sentences(jumps) == (
        f"{when}: K2 goes from 1023 to 255 at once; Pad/level jumps by 75 % of full range.",
        f"{when}: K1 goes from 0 to 384 at once; Pad/cutoff jumps by 38 % of full range.",
        "Lead/wave and Lead/pan do not jump.",
        f"Pad/level jumps: levels, or what can change them. {CAUTION}",
    )


def test_what_does_not_follow_lands_where_it_is_stored() -> None:
    # Both follow at 100: K3 at 100, the first of its three steps; 768 is the third.
    jumps = change(stored(), "both", "only Pad", 100)
    found = {jump.destination: (jump.from_position, jump.to_position) for jump in jumps}
    assert found == {
        "Pad/cutoff": (50, 50),
        "Pad/level": (923, 923),
        "Lead/wave": (100, 768),
        "Lead/pan": (300, 300),
    }
    assert (jumps[0].destination, jumps[0].share) == ("Lead/wave", 1.0)


def test_what_is_not_known_takes_the_worst_end() -> None:
    """Leaving and landing; nothing is stored of K1 to K4."""
    setup = two_voices()
    leaving = {jump.knob: jump for jump in change(setup, "only Lead", "both", 768)}
    # To 384 of 1023 it is further from the top; to 255 too. K3 and K4 follow in both.
    assert [
        (leaving[k].from_position, leaving[k].to_position) for k in ("K1", "K2", "K3", "K4")
    ] == [*((1023, 384), (1023, 255), (768, 768), (300, 300))]
    assert [leaving[k].from_known for k in ("K1", "K2", "K3", "K4")] == [False, False, True, True]
    assert all(jump.to_known for jump in leaving.values())
    assert leaving["K2"].sentences[0] == (
        "At worst Pad/level jumps by 75 % of full range: it is not known where K2 stands, as in "
        "'only Lead'; set it by ear."
    )
    landing = {jump.knob: jump for jump in change(setup, "both", "only Lead", 768)}
    assert (landing["K1"].from_position, landing["K1"].to_position) == (384, 1023)
    assert (landing["K1"].from_known, landing["K1"].to_known) == (True, False)
    # Held in both, known in neither: as far as there is; but where it was if recalled again.
    still = attrs.evolve(setup, snapshots=(Snapshot("a"), Snapshot("b")))
    both = change(still, "a", "b", 5)[0]
    assert (both.share, both.from_known, both.to_known) == (1.0, False, False)
    assert both.sentences[0] == (
        "At worst Pad/level jumps by 100 % of full range: it is not known where K2 stands, as in "
        "'a' and 'b'; set it by ear."
    )
    # Whatever may jump as far on one knob is told at once, each knob by itself.
    third = attrs.evolve(still, snapshots=(*still.snapshots, Snapshot("c", positions=at(K1=3))))
    told = jump_sentences(worst_changes(third))
    assert [line.partition(" by ")[0] for line in told[:4]] == [
        f"At worst {name} jumps" for name in ("Pad/level", "Pad/cutoff", "Lead/wave", "Lead/pan")
    ]
    assert told[1].endswith("where K1 stands, as in 'a' and 'b'; set it by ear.")
    assert {jump.share for jump in change(still, "a", "a", 5)} == {0.0}
    assert change(still, "a", "a", 5, start={"K1": 100})[0].share == 923 / 1023


def test_a_held_knob_is_where_the_hand_left_it() -> None:
    jumps = change(stored(), "only Lead", "both", 1023, start={"K1": 512, "K2": 20, "K3": 7})
    found = {jump.destination: (jump.from_position, jump.to_position) for jump in jumps}
    # K1 is where the master puts it already; K3 follows in both, wherever it was before.
    assert found == {
        "Pad/cutoff": (512, 512),
        "Pad/level": (20, 0),
        "Lead/wave": (1023, 1023),
        "Lead/pan": (300, 300),
    }


def test_the_caution_is_given_where_a_level_jumps_and_only_there() -> None:
    # Which kinds can change how loud a voice is: common practice, no source.
    setup = stored()
    loud = change(setup, "only Lead", "both", 1023)
    assert CAUTION in jump_sentences(loud)[-1]
    assert CAUTION in loud[0].sentences[-1]
    assert not any(CAUTION in told for jump in loud[1:] for told in jump.sentences)
    for quiet in (
        change(setup, "both", "only Pad", 1023),
        change(setup, "only Lead", "both", 0),
        change(with_kind(setup, "pan"), "only Lead", "both", 1023),
    ):
        assert not any(CAUTION in told for told in jump_sentences(quiet))
    still = change(setup, "both", "only Pad", 768)
    assert jump_sentences(still) == ("Pad/level, Pad/cutoff, Lead/wave and Lead/pan do not jump.",)
    assert str(still[0]) == "Pad/level does not jump."


def test_what_one_knob_does_at_once_is_told_once() -> None:
    setup = attrs.evolve(two_voices(7), travels=())
    routes = tuple(attrs.evolve(route, knob="K3") for route in setup.routes)
    setup = attrs.evolve(setup, routes=routes)
    none, everything = Snapshot("none", positions=at(K3=0)), Snapshot("all", ("Pad", "Lead"))
    setup = attrs.evolve(setup, snapshots=(none, everything))
    assert jump_sentences(worst_changes(setup))[0] == (
        "'all' after 'none' with the master at 127: K3 goes from 0 to 127 at once; Pad/level jumps "
        "by 100 %, Pad/cutoff by 100 %, Lead/wave by 100 % and Lead/pan by 100 % of full range."
    )


def test_equal_jumps_are_told_with_the_loud_ones_first() -> None:
    setup = attrs.evolve(stored(), travels=())
    names = [jump.destination for jump in change(setup, "both", "both", 9)]
    assert names == ["Pad/level", "Pad/cutoff", "Lead/wave", "Lead/pan"]


@pytest.mark.parametrize(
    ("share", "percent"), [(0, 0), (1e-6, 1), (0.0149, 1), (0.015, 2), (1, 100)]
)
def test_a_share_is_told_in_hundredths(share: float, percent: int) -> None:
    jump = attrs.evolve(change(two_voices(), "both", "both", 0)[0], share=share)
    assert jump.percent == percent


def test_a_jump_is_a_share_whatever_the_unit() -> None:
    setup = two_voices(7)
    setup = attrs.evolve(
        setup,
        travels=(),
        snapshots=(setup.snapshots[0], Snapshot("only Lead", ("Lead",), positions=at(K1=0, K2=0))),
    )
    responses = {
        "Pad/cutoff": Response(Curve("linear", bipolar=True), -2400.0),
        "Pad/level": Response(Curve("switch"), 0.0),
    }
    jumps = change(setup, "only Lead", "both", 64, responses=responses)
    cutoff = next(jump for jump in jumps if jump.destination == "Pad/cutoff")
    # DLS 2.2, 1.6.5: bipolar linear is -1 at 0 and 0 at 64 of 127.
    assert (cutoff.from_received, cutoff.to_received, cutoff.share) == (2400.0, 0.0, 0.5)
    level = next(jump for jump in jumps if jump.destination == "Pad/level")
    assert (level.from_position, level.to_position) == (0, 64)
    assert (level.from_received, level.to_received, level.share) == (0.0, 0.0, 0.0)


@settings(max_examples=EXAMPLES)
@given(st.integers(0, 2**32))
def test_a_change_is_the_worst_that_playing_both_snapshots_gives(seed: int) -> None:
    """Whatever an instrument has stored that the setup does not say."""
    setup, choose = seeded_setup(seed)
    start, master = some_start(choose, setup), choose.whole(0, setup.surface.top)
    before, after = (choose.pick(setup.snapshots).name for _ in "ba")
    jumps = change(setup, before, after, master, start=start)
    by_route = {(jump.destination, jump.knob): jump for jump in jumps}
    top, worst = setup.surface.top, dict.fromkeys(by_route, 0)
    for trial in range(8):
        # The two ends in both snapshots, in all four ways; then anywhere.
        places = {
            (name, knob): (0, top)[trial >> side & 1] if trial < 4 else choose.whole(0, top)
            for side, name in enumerate((before, after))
            for knob in setup.surface.knob_names
        }
        run = played(setup, lambda name, knob, places=places: places[name, knob])  # type: ignore[misc]
        run.recall(before)
        run.turn(start)
        run.move(master)
        old, old_places = run.taken(), dict(run.positions)
        run.recall(after)
        for route, one, new in zip(Plain(setup).routes(), old, run.taken(), strict=True):
            jump = by_route[route.destination, route.knob]
            worst[route.destination, route.knob] = max(
                worst[route.destination, route.knob], abs(new - one)
            )
            if jump.from_known:
                assert jump.from_position == old_places[route.knob]
                assert jump.from_received == one / top
            if jump.to_known:
                assert jump.to_position == run.positions[route.knob]
                assert jump.to_received == new / top
            held = not Plain(setup).following(before, route.knob)
            asked = Plain(setup).stands(before, route.knob) is None and route.knob not in start
            assert jump.from_known == (not (held and asked))
    assert {key: jump.share for key, jump in by_route.items()} == {
        key: most / top for key, most in worst.items()
    }
    assert len(by_route) == len(jumps)
    assert [jump.share for jump in jumps] == sorted((j.share for j in jumps), reverse=True)
    assert {(jump.before, jump.after, jump.master) for jump in jumps} <= {(before, after, master)}


@settings(max_examples=EXAMPLES)
@given(st.integers(0, 2**32))
def test_a_change_is_the_difference_of_two_sweeps(seed: int) -> None:
    """With curves, too, wherever it is known where a knob stands."""
    setup, choose = seeded_setup(seed)
    responses, start = some_responses(choose, setup), some_start(choose, setup)
    master = choose.whole(0, setup.surface.top)
    before, after = (choose.pick(setup.snapshots).name for _ in "ba")
    one = sweep(setup, before, master=(master,), start=start, responses=responses)
    two = sweep(setup, after, master=(master,), responses=responses)
    jumps = change(setup, before, after, master, start=start, responses=responses)
    by_route = {(jump.destination, jump.knob): jump for jump in jumps}
    for index, route in enumerate(one.routes):
        jump = by_route[route.destination, route.knob]
        assert jump.from_known == (route.knob not in one.supposed)
        assert jump.to_known == (route.knob not in two.supposed)
        if jump.from_known:
            assert jump.from_received == pytest.approx(one.received[index, 0], abs=1e-9)
        if jump.to_known:
            assert jump.to_received == pytest.approx(two.received[index, 0], abs=1e-9)


def scanned(setup: Setup, **given: Any) -> dict[tuple[str, str], float]:
    """The largest share of each route over every pair of snapshots and every position."""
    worst: dict[tuple[str, str], float] = {}
    for one, two in permutations([snapshot.name for snapshot in setup.snapshots], 2):
        for master in range(setup.surface.top + 1):
            for jump in change(setup, one, two, master, **given):
                key = jump.destination, jump.knob
                worst[key] = max(worst.get(key, 0.0), jump.share)
    return worst


def test_the_worst_changes_are_those_of_a_scan() -> None:
    seen: Counter[str] = Counter()
    for seed in range(max(75, EXAMPLES // 8)):
        setup, choose = seeded_setup(seed)
        setup = attrs.evolve(setup, surface=attrs.evolve(setup.surface, bits=7))
        given: dict[str, Any] = {"responses": some_responses(choose, setup)}
        if seed % 2:
            given["start"] = some_start(choose, setup)
        worst = worst_changes(setup, **given)
        found = {(jump.destination, jump.knob): jump.share for jump in worst}
        expected = scanned(setup, **given)
        assert found == pytest.approx(expected, rel=1e-12)
        assert list(found.values()) == sorted(found.values(), reverse=True)
        for jump in worst:
            assert jump in change(setup, jump.before, jump.after, jump.master, **given)
            seen["jump"] += jump.share > 0
            seen["at the bottom"] += jump.share > 0 and jump.master == 0
            seen["none"] += jump.share == 0
    assert min(seen[each] for each in ("jump", "at the bottom", "none")) > 0, seen


def test_the_worst_is_exact_at_32_bits() -> None:
    setup = two_voices(32)
    both = setup.snapshots[0]
    lead = Snapshot("only Lead", ("Lead",), positions=at(K1=0, K2=1023))
    setup = attrs.evolve(setup, snapshots=(both, lead))
    assert [(jump.destination, jump.share) for jump in worst_changes(setup)] == [
        ("Pad/level", 1023 / (2**32 - 1)),
        ("Pad/cutoff", 512 / (2**32 - 1)),
        ("Lead/wave", 0.0),
        ("Lead/pan", 0.0),
    ]
    assert {(j.before, j.after, j.master) for j in worst_changes(setup)[:2]} == {
        ("both", "only Lead", 2**32 - 1)
    }
    # K1 stored at both ends of full travel: that is further than the master ever moves it.
    far = (*setup.snapshots, Snapshot("far", ("Lead",), positions=at(K1=2**32 - 1, K2=1023)))
    first = worst_changes(attrs.evolve(setup, snapshots=far))[0]
    assert (first.knob, first.share, first.after) == ("K1", 1.0, "far")


def test_one_snapshot_alone_does_not_change() -> None:
    setup = two_voices()
    assert worst_changes(attrs.evolve(setup, snapshots=setup.snapshots[:1])) == ()
    places = at(K3=7, K4=9)
    twice = (Snapshot("a", ("Pad",), None, places), Snapshot("b", ("Pad",), None, places))
    assert {jump.share for jump in worst_changes(attrs.evolve(setup, snapshots=twice))} == {0.0}


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ({"setup": None}, "setup"),
        ({"before": "gone"}, "before"),
        ({"after": 3}, "after"),
        ({"master": 1024}, "master"),
        ({"master": 0.5}, "master"),
        ({"start": {"K1": -1}}, "start['K1']"),
        ({"responses": {"Pad/x": Response()}}, "responses"),
    ],
)
def test_what_cannot_be_is_refused(arguments: dict[str, Any], field: str) -> None:
    right: dict[str, Any] = {"setup": two_voices(), "before": "both", "after": "both", "master": 0}
    with pytest.raises(InputError) as caught:
        change(**(right | arguments))
    assert caught.value.field == f"change.{field}"
    rest = {k: v for k, v in arguments.items() if k in ("setup", "start", "responses")}
    if rest:
        with pytest.raises(InputError) as caught:
            worst_changes(**{"setup": two_voices(), **rest})
        assert caught.value.field == f"worst_changes.{field}"
