"""Steps: replayed they give the result; none is too many, and none comes too early."""

from __future__ import annotations

import pickle
from collections import Counter
from typing import Any

import attrs
import pytest
from hypothesis import example, given

from knobpack.errors import InputError
from knobpack.sheets import patch_sheet
from knobpack.sheets.difference import on_surface
from knobpack.sheets.steps import STAGES
from knobpack.words import (
    Destination,
    Group,
    KnobPosition,
    Route,
    Setup,
    Snapshot,
    Surface,
    Voice,
)
from tests.oracles.replay import in_order, replay
from tests.sheets.pairs import pairs


def things(setup: Setup) -> Counter[tuple[Any, ...]]:
    """All that can be set, plainly: each a name with what stands there, lists as sets."""
    found: list[tuple[Any, ...]] = [("name", setup.name)]
    found += [
        (
            "voice",
            v.name,
            repr(attrs.evolve(v, destinations=())),
            frozenset(map(repr, v.destinations)),
        )
        for v in setup.voices
    ]
    found += [("group", g.name, frozenset(g.members)) for g in setup.groups]
    found += [("route", r.knob, r.destination, r.travel) for r in setup.routes]
    found += [("travel", t.knob, t.travel) for t in setup.travels]
    found += [("label", each.knob, each.label) for each in setup.labels]
    found += [("sending", each.knob, each) for each in setup.sending]
    found += [
        (
            "snapshot",
            s.name,
            s.break_weight,
            *(frozenset(names) for names in (s.moves, s.silent, s.idle)),
        )
        for s in setup.snapshots
    ]
    found += [
        ("position", (s.name, each.knob), each.position)
        for s in setup.snapshots
        for each in s.positions
    ]
    return Counter(found)


def differing(before: Setup, after: Setup) -> int:
    """How many things differ, counted plainly: a name that both have counts once."""
    old, new = things(before), things(after)
    gone, come = old - new, new - old
    left = {snapshot.name for snapshot in after.snapshots}
    for item in list(gone):
        if item[0] == "position" and item[1][0] not in left:
            del gone[item]  # it goes with its snapshot
    routes = 0
    for ends in {item[:3] for item in (*gone, *come) if item[0] == "route"}:
        # One that goes and one that comes between the same two is one, with another travel.
        routes += max(
            sum(n for item, n in side.items() if item[:3] == ends) for side in (gone, come)
        )
    places = {item[:2] for item in (*gone, *come) if item[0] not in {"route", "name"}}
    return routes + len(places) + (before.name != after.name)


SWAP = tuple(
    Setup("A", Surface.row(1), (Voice("P", layer=one), Voice("Q", layer=two)))
    for one, two in ((1, 2), (2, 1))
)
TURNED = (
    Setup("A", Surface.row(1), (Voice("X"),), groups=(Group("Y", ("X",)),)),
    Setup("A", Surface.row(1), (Voice("Y"),), groups=(Group("X", ("Y",)),)),
)


@given(pairs())
@example((SWAP[0], SWAP[1]))
@example((TURNED[0], TURNED[1]))
def test_replay_gives_the_result_with_one_step_for_each_difference(
    pair: tuple[Setup, Setup],
) -> None:
    before, after = map(on_surface, pair)
    sheet = patch_sheet(before, after)
    assert sheet.steps == patch_sheet(*pair).steps
    found = replay(before, sheet.steps)
    assert things(found) == things(after)
    assert in_order(found) == in_order(after)
    assert found.surface == after.surface
    assert len(sheet.steps) == differing(before, after)
    assert patch_sheet(found, after).steps == ()
    assert pickle.loads(pickle.dumps(sheet)) == sheet  # noqa: S301 (it was made here)
    no_step_can_be_left_out(before, after)
    nothing_is_done_too_early(before, after)
    no_limit_is_passed_on_the_way(before, after)


def no_step_can_be_left_out(before: Setup, after: Setup) -> None:
    steps = patch_sheet(before, after).steps
    for number in range(len(steps)):
        try:
            found = replay(before, steps[:number] + steps[number + 1 :])
        except InputError:
            continue  # a later step needs it
        assert things(found) != things(after)


def nothing_is_done_too_early(before: Setup, after: Setup) -> None:
    sheet = patch_sheet(before, after)
    stages = [STAGES.index(step.stage) for step in sheet.steps]
    assert stages == sorted(stages)
    travels = {each.knob: each.travel for each in after.travels}
    there = {v.name for v in after.voices}
    now = before
    for number, step in enumerate(sheet.steps):
        now = replay(before, sheet.steps[: number + 1])  # each state on the way is a Setup
        if step.what == "route" and step.after is not None:
            on = next((each.travel for each in now.travels if each.knob == step.where), None)
            assert on == travels.get(step.where)
            assert Route(str(step.after), step.where, step.travel) in after.routes
            assert step.layer is None or str(step.after).split("/")[0] in there
            # What the knob is no longer to drive is off it.
            left = {r.destination for r in now.routes if r.knob == step.where}
            assert left <= {r.destination for r in after.routes if r.knob == step.where}
        if step.what == "voice" and step.after is not None:
            # No route that is not wanted wakes up because what it names is there now.
            unwanted = {each.destination for each in set(now.routes) - set(after.routes)}
            assert not unwanted & (ends_of(after) - ends_of(before))
    assert things(now) == things(after)


def ends_of(setup: Setup) -> set[str]:
    return {f"{voice.name}/{inner.name}" for voice in setup.voices for inner in voice.destinations}


def no_limit_is_passed_on_the_way(before: Setup, after: Setup) -> None:
    sheet = patch_sheet(before, after)
    for number in range(len(sheet.steps)):
        now = replay(before, sheet.steps[:number])
        for field in ("routes", "snapshots", "voices"):
            most = max(len(getattr(each, field)) for each in (before, after))
            assert len(getattr(now, field)) <= most


def test_a_voice_comes_when_its_layer_is_free() -> None:
    surface = Surface.row(1)
    before = Setup("A", surface, tuple(Voice(n, layer=i) for i, n in enumerate("PQRZ", 1)))
    after = Setup("A", surface, tuple(Voice(n, layer=i) for i, n in enumerate("PQR", 2)))
    steps = patch_sheet(before, after).steps
    assert [step.where for step in steps] == ["Z", "R", "Q", "P"]
    assert all(step.beside == () for step in steps)
    swapped = patch_sheet(*SWAP)
    assert sorted(step.where for step in swapped.steps) == ["P", "Q"]
    first, second = swapped.steps
    assert (first.beside, second.beside) == ((second.where,), ())
    assert f"where '{second.where}' is at this point" in str(first)


def test_what_would_wake_up_or_stand_in_the_way_goes_first() -> None:
    surface = Surface.row(2)
    voice = Voice("Pad", (Destination("level"),), 1)
    before = Setup(
        "A", surface, groups=(Group("Pad", ("Gone",)),), routes=(Route("Pad/level", "K2"),)
    )
    after = Setup("A", surface, (voice,), routes=(Route("Pad/level", "K1"),))
    sheet = patch_sheet(before, after)
    assert sheet.sentences == (
        "K2: take away its route to Pad/level.",
        "Group 'Pad': remove it.",
        "Voice 'Pad': add it on layer 1.",
        "K1: route it to Pad/level on layer 1.",
    )
    assert replay(before, sheet.steps) == after


def test_groups_come_before_those_that_name_them() -> None:
    surface, voice = Surface.row(1), Voice("Pad")
    inner, outer = Group("Inner", ("Pad",)), Group("Outer", ("Inner",))
    before = Setup("A", surface, (voice,))
    after = attrs.evolve(before, groups=(outer, inner), snapshots=(Snapshot("s", ("Outer",)),))
    steps = patch_sheet(before, after).steps
    assert [step.where for step in steps] == ["Inner", "Outer", "s"]


def test_a_long_chain_is_no_trouble() -> None:
    names = [f"G{number}" for number in range(3000)]
    groups = tuple(Group(a, (b,)) for a, b in zip(names, [*names[1:], "Pad"], strict=True))
    before = Setup("A", Surface.row(1), (Voice("Pad"),))
    steps = patch_sheet(before, attrs.evolve(before, groups=groups)).steps
    assert [step.where for step in steps] == names[::-1]


PAD = Voice("Pad", (Destination("level"), Destination("pan")), 1)
A = Setup("A", Surface.row(2, bits=10), (PAD,))


def test_order_alone_takes_no_step() -> None:
    before = attrs.evolve(A, voices=(PAD, Voice("Lead")), groups=(Group("G", ("a", "b")),))
    after = attrs.evolve(
        A,
        voices=(Voice("Lead"), attrs.evolve(PAD, destinations=PAD.destinations[::-1])),
        groups=(Group("G", ("b", "a")),),
    )
    assert patch_sheet(before, after).steps == ()
    assert "Nothing to set: all is as it was." in patch_sheet(before, after).text()
    assert before != after
    assert in_order(before) == in_order(after)


def test_setups_of_different_surfaces_are_refused() -> None:
    finer = attrs.evolve(A, surface=Surface.row(2, bits=7))
    with pytest.raises(
        InputError, match=r"surface\.bits.*both setups must be of one surface.*combine"
    ):
        patch_sheet(A, finer)
    for wrong in ("A", A.surface):
        with pytest.raises(InputError, match="give a Setup"):
            patch_sheet(wrong, A)  # type: ignore[arg-type]
    for other in (None, "A", A.surface):
        with pytest.raises(InputError, match="give a Setup"):
            patch_sheet(A, other)  # type: ignore[arg-type]


def test_with_nothing_programmed_all_of_a_setup_is() -> None:
    assert patch_sheet(None, A) == patch_sheet(Setup(A.name, A.surface), A)


def test_steps_that_do_not_fit_are_refused() -> None:
    sheet = patch_sheet(A, attrs.evolve(A, name="B", voices=(), routes=(Route("x", "K1"),)))
    done = replay(A, sheet.steps)
    with pytest.raises(InputError, match=r"replay\.steps\[0\].*it starts from"):
        replay(done, sheet.steps)
    for number, step in enumerate(sheet.steps):
        if step.what != "route":
            with pytest.raises(InputError, match=rf"replay\.steps\[{number + 1}\]"):
                replay(A, (*sheet.steps[: number + 1], step))
    wrong = attrs.evolve(sheet.steps[0], before=Voice("Pad", layer=2))
    with pytest.raises(InputError):
        replay(A, (wrong,))
    for bad in (None, 5, ("x",)):
        with pytest.raises(InputError):
            replay(A, bad)  # type: ignore[arg-type]
    with pytest.raises(InputError):
        replay("A", ())  # type: ignore[arg-type]
    taken = patch_sheet(A, attrs.evolve(A, voices=(), groups=(Group("Pad", ("x",)),))).steps
    with pytest.raises(InputError, match=r"replay\.steps\[0\]"):
        replay(A, taken[1:])  # the voice has the name still


def test_positions_are_set_one_by_one_in_panel_order() -> None:
    still = Snapshot("s", positions=(KnobPosition("K2", 5), KnobPosition("K1", 512)))
    before = attrs.evolve(A, snapshots=(Snapshot("gone", positions=(KnobPosition("K1", 1),)),))
    after = attrs.evolve(A, snapshots=(still,))
    steps = patch_sheet(before, after).steps
    assert [(step.what, step.where, step.after) for step in steps] == [
        ("snapshot", "gone", None),
        ("snapshot", "s", Snapshot("s")),
        ("position", "K1", 512),
        ("position", "K2", 5),
    ]
    with pytest.raises(InputError, match=r"replay\.steps\[0\]"):
        replay(A, steps[2:3])  # there is no such snapshot yet
    with pytest.raises(InputError, match=r"replay\.steps\[0\]"):
        replay(after, (attrs.evolve(steps[2], before=511),))
