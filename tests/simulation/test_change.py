"""Changes of snapshot: worked by hand, against a setup played in plain Python, and the worst.

What a recall does to a knob is common practice, no source.
"""

from __future__ import annotations

import pickle
from collections import Counter
from itertools import permutations
from typing import Any

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobpack.errors import InputError
from knobpack.positions import Curve
from knobpack.simulation import Jump, Response, change, jump_sentences, sweep, worst_changes
from knobpack.wording import CAUTION
from knobpack.words import Setup, Snapshot
from tests.oracles.amount import EXAMPLES
from tests.oracles.simulation import Plain, played
from tests.simulation.setups import (
    seeded_setup,
    some_responses,
    some_start,
    two_voices,
    with_kind,
)


def test_what_newly_follows_goes_to_the_master_at_once() -> None:
    # Only Lead was in force: Pad's knobs were held at the start of their travels, 0 and 1023.
    # At 768 of 1023 the half travel is at 768 · 512 / 1023 = 384.4, the reversed one at 255.
    jumps = change(two_voices(), "only Lead", "only Pad", 768)
    assert [
        (jump.destination, jump.from_position, jump.to_position, jump.share) for jump in jumps
    ] == [
        ("Pad/level", 1023, 255, 768 / 1023),
        ("Pad/cutoff", 0, 384, 384 / 1023),
        ("Lead/wave", 768, 768, 0.0),  # it followed and is held now: it stays where it is
        ("Lead/pan", 300, 300, 0.0),
    ]
    assert [(jump.from_received, jump.to_received) for jump in jumps[:2]] == [
        (1.0, 255 / 1023),
        (0.0, 384 / 1023),
    ]
    when = "'only Pad' after 'only Lead' with the master at 768"
    assert jump_sentences(jumps) == (
        f"{when}: K2 goes from 1023 to 255 at once; Pad/level jumps by 75 % of full range.",
        f"{when}: K1 goes from 0 to 384 at once; Pad/cutoff jumps by 38 % of full range.",
        "Lead/wave and Lead/pan do not jump.",
        f"Pad/level jumps: levels, or what can change them. {CAUTION}",
    )


def test_a_held_knob_is_where_it_was_left() -> None:
    jumps = change(two_voices(), "only Lead", "both", 1023, start={"K1": 512, "K2": 20, "K3": 7})
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
    setup = two_voices()
    loud = change(setup, "only Lead", "both", 1023)
    assert CAUTION in jump_sentences(loud)[-1]
    assert CAUTION in loud[0].sentences[-1]
    assert not any(CAUTION in told for jump in loud[1:] for told in jump.sentences)
    for quiet in (
        change(setup, "both", "only Lead", 1023),
        change(setup, "only Lead", "both", 0),
        change(with_kind(setup, "pan"), "only Lead", "both", 1023),
    ):
        assert not any(CAUTION in told for told in jump_sentences(quiet))
    still = change(setup, "both", "only Lead", 1023)
    assert jump_sentences(still) == ("Pad/level, Pad/cutoff, Lead/wave and Lead/pan do not jump.",)
    assert str(still[0]) == "Pad/level does not jump."


def test_what_one_knob_does_at_once_is_told_once() -> None:
    setup = attrs.evolve(two_voices(7), travels=())
    routes = tuple(attrs.evolve(route, knob="K3") for route in setup.routes)
    setup = attrs.evolve(setup, routes=routes)
    everything = Snapshot("all", ("Pad", "Lead"))
    setup = attrs.evolve(setup, snapshots=(Snapshot("none", ()), everything))
    assert jump_sentences(worst_changes(setup))[0] == (
        "'all' after 'none' with the master at 127: K3 goes from 0 to 127 at once; Pad/level jumps "
        "by 100 %, Pad/cutoff by 100 %, Lead/wave by 100 % and Lead/pan by 100 % of full range."
    )


def test_equal_jumps_are_told_with_the_loud_ones_first() -> None:
    setup = attrs.evolve(two_voices(), travels=())
    names = [jump.destination for jump in change(setup, "only Lead", "only Pad", 9)]
    assert names == ["Pad/level", "Pad/cutoff", "Lead/wave", "Lead/pan"]


@pytest.mark.parametrize(
    ("share", "percent"), [(0, 0), (1e-6, 1), (0.0149, 1), (0.015, 2), (1, 100)]
)
def test_a_share_is_told_in_hundredths(share: float, percent: int) -> None:
    jump = attrs.evolve(change(two_voices(), "both", "both", 0)[0], share=share)
    assert jump.percent == percent


def test_a_jump_is_a_share_whatever_the_unit() -> None:
    setup = two_voices(7)
    setup = attrs.evolve(setup, travels=())
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


@settings(max_examples=EXAMPLES, deadline=None, derandomize=True)
@given(st.integers(0, 2**32))
def test_a_change_is_what_playing_both_snapshots_gives(seed: int) -> None:
    setup, choose = seeded_setup(seed)
    start, master = some_start(choose, setup), choose.whole(0, setup.surface.top)
    before, after = (choose.pick(setup.snapshots).name for _ in "ba")
    jumps = change(setup, before, after, master, start=start)
    run = played(setup, start)
    run.recall(before)
    run.move(master)
    old, old_places = run.taken(), dict(run.positions)
    run.recall(after)
    top = setup.surface.top
    expected = {
        (route.destination, route.knob): (
            *(old_places[route.knob], run.positions[route.knob]),
            *(one / top, new / top, abs(new - one) / top),
        )
        for route, one, new in zip(Plain(setup).routes(), old, run.taken(), strict=True)
    }
    found = {
        (jump.destination, jump.knob): (
            *(jump.from_position, jump.to_position),
            *(jump.from_received, jump.to_received, jump.share),
        )
        for jump in jumps
    }
    assert found == expected
    assert len(found) == len(jumps)
    assert [jump.share for jump in jumps] == sorted((j.share for j in jumps), reverse=True)
    assert {(jump.before, jump.after, jump.master) for jump in jumps} <= {(before, after, master)}


@settings(max_examples=EXAMPLES, deadline=None, derandomize=True)
@given(st.integers(0, 2**32))
def test_a_change_is_the_difference_of_two_sweeps(seed: int) -> None:
    """With curves, too: the second sweep begins where the first one left the knobs."""
    setup, choose = seeded_setup(seed)
    responses, start = some_responses(choose, setup), some_start(choose, setup)
    master = choose.whole(0, setup.surface.top)
    before, after = (choose.pick(setup.snapshots).name for _ in "ba")
    one = sweep(setup, before, master=(master,), start=start, responses=responses)
    left = {k: int(p) for k, p in zip(one.knobs, one.positions[:, 0], strict=True)}
    two = sweep(setup, after, master=(master,), start=left, responses=responses)
    jumps = change(setup, before, after, master, start=start, responses=responses)
    by_route = {(jump.destination, jump.knob): jump for jump in jumps}
    for index, route in enumerate(one.routes):
        jump = by_route[route.destination, route.knob]
        received = (one.received[index, 0], two.received[index, 0])
        assert (jump.from_received, jump.to_received) == pytest.approx(received, abs=1e-9)


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


def test_no_history_is_worse_than_the_worst() -> None:
    """However long one plays, if the knobs begin at the start of their travels."""
    met = 0
    for seed in range(max(1, EXAMPLES // 2)):
        setup, choose = seeded_setup(seed)
        if len(setup.snapshots) < 2:
            continue
        top = setup.surface.top
        worst = {(j.destination, j.knob): round(j.share * top) for j in worst_changes(setup)}
        run = played(setup)
        run.recall(setup.snapshots[0].name)
        for _ in range(12):
            run.move(choose.pick((0, top, choose.whole(0, top))))
            old = run.taken()
            run.recall(choose.pick(setup.snapshots).name)
            for route, one, new in zip(Plain(setup).routes(), old, run.taken(), strict=True):
                most = worst[route.destination, route.knob]
                assert abs(new - one) <= most
                met += abs(new - one) == most > 0
    assert met > 0


def test_the_worst_is_exact_at_32_bits() -> None:
    setup = two_voices(32)
    worst = worst_changes(setup)
    assert [(jump.destination, jump.share) for jump in worst] == [
        ("Lead/wave", 1.0),
        ("Pad/level", 1023 / (2**32 - 1)),
        ("Pad/cutoff", 512 / (2**32 - 1)),
        ("Lead/pan", 0.0),
    ]
    assert [(j.before, j.after, j.master) for j in worst[:2]] == [
        ("only Pad", "both", 2**32 - 1),
        ("only Lead", "both", 2**32 - 1),
    ]


def test_one_snapshot_alone_does_not_change() -> None:
    setup = two_voices()
    assert worst_changes(attrs.evolve(setup, snapshots=setup.snapshots[:1])) == ()
    twice = (Snapshot("a", ("Pad",)), Snapshot("b", ("Pad",)))
    assert {jump.share for jump in worst_changes(attrs.evolve(setup, snapshots=twice))} == {0.0}


def test_a_jump_is_a_value() -> None:
    jumps = change(two_voices(), "only Lead", "both", 5)
    assert pickle.loads(pickle.dumps(jumps)) == jumps  # noqa: S301 (own data)
    assert all(isinstance(jump, Jump) and hash(jump) for jump in jumps)


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ({"setup": None}, "setup)"),
        ({"before": "gone"}, "before)"),
        ({"after": 3}, "after)"),
        ({"master": 1024}, "master)"),
        ({"master": 0.5}, "master)"),
        ({"start": {"K1": -1}}, "start)['K1']"),
        ({"responses": {"Pad/x": Response()}}, "responses)"),
    ],
)
def test_what_cannot_be_is_refused(arguments: dict[str, Any], field: str) -> None:
    right: dict[str, Any] = {"setup": two_voices(), "before": "both", "after": "both", "master": 0}
    with pytest.raises(InputError) as caught:
        change(**(right | arguments))
    assert caught.value.field == f"change({field}"
    rest = {k: v for k, v in arguments.items() if k in ("setup", "start", "responses")}
    if rest:
        with pytest.raises(InputError) as caught:
            worst_changes(**{"setup": two_voices(), **rest})
        assert caught.value.field == f"worst_changes({field}"
