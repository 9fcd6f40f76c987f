"""Edits taken back: the setup is what it would be had they never been made."""

from __future__ import annotations

import itertools
import random
from collections import Counter

import attrs
import pytest

from knobpack import combine, edit, move_home, move_to_panel, take_back
from knobpack.clash import ImpossibleDemands
from knobpack.errors import InputError
from knobpack.files import dumps, loads
from knobpack.words import Destination, KnobLabel, KnobPosition, Route, Setup, Surface, Voice
from knobpack.words.setup_edits import (
    Away,
    BackInUse,
    Edit,
    OneMore,
    OnKnob,
    OutOfUse,
    OwnKnob,
    Part,
    Swap,
)
from tests.edits.rehearsal import SETUP, as_played
from tests.edits.setups import STAGE, on_routes, small_setup, some_edit
from tests.oracles.amount import EXAMPLES
from tests.oracles.replay import in_order, replay

HORN = Voice("Horn", (Destination("level"),))


def tried(setup: Setup, what: Edit) -> Setup | None:
    """The setup after an edit; None where that cannot be."""
    try:
        return edit(setup, what).setup
    except (InputError, ImpossibleDemands):
        return None


def drawn(setup: Setup, draw: random.Random) -> Edit:
    """Any edit, which may not be possible."""
    names = [voice.name for voice in setup.voices]
    broken = [each.knob for each in setup.broken]
    others: list[Edit] = [Away((draw.choice(names),)), OneMore(HORN)]
    others += [BackInUse(draw.choice(broken))] if broken else []
    return draw.choice(others) if draw.random() < 0.3 else some_edit(setup, draw)


def edited(seed: int) -> list[tuple[Edit | None, Setup]]:
    """A setup, and after each of some edits; with the first one stands none."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    setup = small_setup(seed, knobs=5)
    if seed % 4 == 3:
        setup = on_routes(setup, draw)
    found: list[tuple[Edit | None, Setup]] = [(None, setup)]
    while len(found) < 5:
        what = drawn(found[-1][1], draw)
        after = tried(found[-1][1], what)
        if after is not None and after.routes:
            found.append((what, after))
    return found


def test_the_last_edit_leaves_nothing_behind() -> None:
    moved = 0
    for seed in range(max(16, EXAMPLES // 15)):
        steps = edited(seed)
        for (_, before), (what, after) in itertools.pairwise(steps):
            assert loads(dumps(after)) == after
            assert after.edits[-1].what == what
            back = take_back(after)
            assert back.setup == before, (seed, what)
            assert back.proven
            assert back.done == f"{what}, taken back"
            assert not back.reasons
            moved += bool(back.moved)
            if not isinstance(what, OneMore):
                assert in_order(replay(after, back.sheet.steps)) == in_order(before)
        setup = steps[-1][1]
        while setup.edits:
            setup = take_back(setup).setup
        assert setup == steps[0][1]
    assert moved > 30


def test_the_setup_is_what_it_would_be_without_the_edit() -> None:
    seen: Counter[str] = Counter()
    for seed in range(max(16, EXAMPLES // 15)):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        steps = edited(seed)
        number = draw.randint(1, len(steps) - 2)
        wanted = steps[number - 1][1]
        went = 0
        for what, _ in steps[number + 1 :]:
            assert what is not None
            after = tried(wanted, what)
            wanted, went = (wanted, went + 1) if after is None else (after, went)
        back = take_back(steps[-1][1], number)
        assert back.setup == wanted, seed
        assert back.proven
        assert sum("goes with it" in note for note in back.notes) == went
        now = {route.destination: route.knob for route in steps[-1][1].routes}
        then = {route.destination: route.knob for route in wanted.routes}
        differing = {name for name in {*now, *then} if now.get(name) != then.get(name)}
        assert {each.destination for each in back.moved} == differing
        seen["moved"] += bool(differing)
        seen["another went with it"] += went > 0
        seen["all were done again"] += went == 0
    assert min(seen.values()) > 3, seen
    assert len(seen) == 3


def test_two_knobs_that_swap_and_are_taken_back_leave_no_rule() -> None:
    once = edit(SETUP, Swap("K1", "K3")).setup
    assert take_back(once).setup == SETUP
    parted = edit(once, Part(("K2",))).setup
    back = take_back(parted, "K1 and K3 change places")
    assert back.setup == edit(SETUP, Part(("K2",))).setup
    assert str(parted).splitlines()[-2:] == [
        "Edit 1: K1 and K3 change places.",
        "Edit 2: K2 parted.",
    ]


def test_of_several_that_are_called_the_same_the_last_is_taken_back() -> None:
    once = edit(SETUP, Swap("K1", "K3")).setup
    twice = edit(once, Swap("K1", "K3")).setup
    assert take_back(twice, "K1 and K3 change places").setup == once
    assert as_played(take_back(twice, 1).setup) == as_played(once)


def test_what_was_done_with_what_goes_goes_too() -> None:
    more = edit(SETUP, OneMore(HORN)).setup
    own = edit(more, OnKnob(("Horn/level",), "K4")).setup
    later = edit(own, OutOfUse("K3")).setup
    back = take_back(later, "Horn more")
    assert back.setup == edit(SETUP, OutOfUse("K3")).setup
    assert [note for note in back.notes if note.startswith("'Horn/level on K4' goes with it:")]
    mended = edit(later, BackInUse("K3")).setup
    back = take_back(mended, "K3 out of use")
    assert [each.what for each in back.setup.edits] == [OneMore(HORN), own.edits[-1].what]
    assert [note for note in back.notes if note.startswith("'K3 back in use' goes with it:")]


def test_what_was_changed_by_hand_since_stays() -> None:
    once = edit(SETUP, Swap("K1", "K5")).setup
    first = attrs.evolve(once.snapshots[0], positions=(KnobPosition("K2", 77),))
    by_hand = attrs.evolve(
        once,
        name="Evening set, late",
        snapshots=(first, *once.snapshots[1:]),
        labels=(*once.labels, KnobLabel("K4", "ATTACK")),
    )
    back = take_back(by_hand).setup
    assert as_played(attrs.evolve(back, snapshots=SETUP.snapshots)) == as_played(SETUP)
    assert back.name == "Evening set, late"
    assert back.snapshots[0].stored["K2"] == 77
    assert KnobLabel("K4", "ATTACK") in back.labels
    assert KnobLabel("K1", "ORGAN") in back.labels
    assert not back.edits
    assert not back.agreed


def test_a_source_that_came_since_stays() -> None:
    once = edit(SETUP, OwnKnob(("Bass/level",), "K2")).setup
    flute = Voice("Flute", (Destination("level"),), 1)
    source = Setup("Hall set", Surface.row(1), (flute,), routes=(Route("Flute/level", "K1"),))
    both = combine(attrs.evolve(once, surface=Surface.row(6)), source).setup
    back = take_back(both).setup
    now = {route.destination: route.knob for route in back.routes}
    assert now["Flute/level"] == "K6"
    assert now["Bass/level"] == now["Bass/cutoff"] == "K2"
    assert back.arrivals == both.arrivals


def test_what_was_edited_on_another_panel_is_taken_back_at_home_as_one() -> None:
    home = edit(STAGE, Swap("K1", "K2")).setup
    away = move_to_panel(home, Surface.row(5)).setup
    assert not away.edits
    away = edit(away, OwnKnob(("Bass/cutoff",), "K4")).setup
    away = edit(away, Swap("K1", "K3")).setup
    assert take_back(edit(away, OutOfUse("K5")).setup).setup == away
    back = move_home(away).setup
    assert [str(each) for each in back.edits] == [
        "K1 and K2 change places",
        "edited on another panel",
    ]
    assert take_back(back).setup == home
    first = take_back(back, 1)
    plain = move_to_panel(STAGE, Surface.row(5)).setup
    plain = edit(plain, OwnKnob(("Bass/cutoff",), "K4")).setup
    assert [str(each) for each in first.setup.edits] == ["edited on another panel"]
    assert {r.destination for r in first.setup.routes} == {r.destination for r in plain.routes}
    assert take_back(first.setup).setup == STAGE
    later = edit(back, Part(("Organ",))).setup
    assert take_back(take_back(later, 3).setup, 2).setup == home


@pytest.mark.parametrize("which", [0, 3, True, "K1 and K4 change places", 1.0])
def test_an_edit_that_is_not_there_is_refused(which: object) -> None:
    setup = edit(edit(SETUP, Swap("K1", "K3")).setup, OutOfUse("K2")).setup
    with pytest.raises(InputError) as caught:
        take_back(setup, which)  # type: ignore[arg-type]
    assert caught.value.field == "take_back.which"
    if isinstance(which, str):
        assert "close to it: K1 and K3 change places" in str(caught.value)
    with pytest.raises(InputError, match="that was edited"):
        take_back(SETUP)
