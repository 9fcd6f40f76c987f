"""Which snapshots keep something essential from every knob, checked by giving them up."""

from __future__ import annotations

from itertools import combinations, count

import attrs
import pytest

from knobpack import (
    Allocation,
    Destination,
    OutOfUse,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Voice,
    edit,
    move_to_panel,
)
from knobpack.edits import without_snapshots
from knobpack.edits.without_snapshots import placed_without_told
from knobpack.errors import NoLayoutFound
from knobpack.limits import Run

ORGAN, BRASS, STRINGS = (
    Voice(name, (Destination("level", priority=1),), at)
    for at, name in enumerate(("Organ", "Brass", "Strings"), 1)
)
ALL = Snapshot("all", ("Organ", "Brass", "Strings"))
OWN = (Snapshot("brass", ("Brass",)), Snapshot("strings", ("Strings",)))


def _setup(*snapshots: Snapshot) -> Setup:
    """Each level on a knob of its own."""
    voices = (ORGAN, BRASS, STRINGS)
    routes = tuple(Route(f"{voice.name}/level", f"K{at}") for at, voice in enumerate(voices, 1))
    return Setup("Evening set", Surface.row(3), voices, routes=routes, snapshots=snapshots)


def _without(setup: Setup, *names: str) -> Setup:
    rest = tuple(each for each in setup.snapshots if each.name not in names)
    return attrs.evolve(setup, snapshots=rest)


@pytest.mark.parametrize(
    ("snapshots", "needed"),
    [
        # With what moves the brass alone given up, it joins the organ or the strings.
        ((ALL, OWN[0], Snapshot("organ", ("Organ",))), 1),
        # On one knob all three move alike only where neither is left.
        ((ALL, *OWN), 2),
    ],
)
def test_the_fewest_snapshots_without_which_all_that_is_essential_has_a_knob(
    snapshots: tuple[Snapshot, ...], needed: int
) -> None:
    """By hand: every one and every two are given up, and the setup is moved once more."""
    setup, panel = _setup(*snapshots), Surface.row(3 - needed)
    found = move_to_panel(setup, panel)
    (out,) = found.essential_out if needed == 1 else (found.essential_out[0],)
    (told,) = found.instead
    assert found.headlines[1] == told
    assert out in told
    names = [each.name for each in snapshots]
    enough = [
        some
        for some in combinations(names, needed)
        if not move_to_panel(_without(setup, *some), panel).essential_out
    ]
    fewer = [
        some
        for size in range(needed)
        for some in combinations(names, size)
        if not move_to_panel(_without(setup, *some), panel).essential_out
    ]
    said = tuple(name for name in names if f"'{name}'" in told)
    assert said in enough
    assert not fewer


def test_an_edit_tells_it_too() -> None:
    """Two levels on two knobs, one of which breaks: what parts them is one snapshot."""
    setup = attrs.evolve(
        _setup(ALL, OWN[0]), surface=Surface.row(2), voices=(ORGAN, BRASS), routes=()
    )
    routes = (Route("Organ/level", "K1"), Route("Brass/level", "K2"))
    setup = attrs.evolve(
        setup, routes=routes, snapshots=(Snapshot("all", ("Organ", "Brass")), OWN[0])
    )
    broken = edit(setup, OutOfUse("K2"))
    assert len(broken.essential_out) == 1
    assert f"{broken.essential_out[0]} would have a knob without the snapshot 'brass'" in str(
        broken
    )
    assert not edit(_without(setup, "brass"), OutOfUse("K2")).essential_out


def test_nothing_is_said_where_no_snapshot_is_in_the_way_or_something_would_move_in_none() -> None:
    """What a snapshot alone moves would move in none without it."""
    alone = tuple(Snapshot(each.name, (each.name,)) for each in (ORGAN, BRASS, STRINGS))
    found = move_to_panel(_setup(*alone), Surface.row(2))
    assert found.essential_out
    assert not found.instead
    assert not move_to_panel(_setup(ALL), Surface.row(2)).instead


def _ten(*several: tuple[str, ...]) -> Setup:
    """Ten levels on ten knobs, and a snapshot for each tuple of them."""
    voices = tuple(Voice(name, (Destination("level", priority=1),)) for name in TEN)
    return Setup(
        "Long set",
        Surface.row(10),
        voices,
        routes=tuple(Route(f"{name}/level", f"K{at}") for at, name in enumerate(TEN, 1)),
        snapshots=tuple(Snapshot(f"S{at}", moves) for at, moves in enumerate(several)),
    )


TEN = tuple(f"Voice {at}" for at in range(10))
HUNDRED = _ten(*[*combinations(TEN, 2), *combinations(TEN, 3)][:100])
"""Whichever two are given up, the others tell all ten levels from one another."""

LONGER = _ten(*(TEN[:at] for at in range(1, 11)))
"""Any but the last, which alone moves the last level, can be given up: 9, and 36 pairs of them."""


@pytest.mark.parametrize("most", [0, 1, 200])
def test_of_a_hundred_snapshots_no_more_are_looked_at_than_may_be(
    most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(without_snapshots, "MOST_LOOKED_AT", most)
    found = move_to_panel(HUNDRED, Surface.row(9)).allocation
    assert found.essential_out
    asked = count()
    assert not [*placed_without_told(found, Run(cancel=lambda: next(asked) < 0))]
    # Once before all of it, and once for each that is looked at.
    assert next(asked) == 1 + most


def test_a_cancel_is_heard_while_snapshots_are_looked_at() -> None:
    found = move_to_panel(HUNDRED, Surface.row(9)).allocation
    asked = count()
    assert not [*placed_without_told(found, Run(cancel=lambda: next(asked) == 70))]
    assert next(asked) == 71


@pytest.mark.parametrize(("cancelled", "laid_out"), [(1000, 36), (2, 2)])
def test_no_more_are_laid_out_than_may_be_and_none_once_it_is_cancelled(
    cancelled: int, laid_out: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = move_to_panel(LONGER, Surface.row(9)).allocation
    asked_for = list[Request]()

    def laid(request: Request, _: Run) -> Allocation:
        asked_for.append(request)
        raise NoLayoutFound("cancelled")

    monkeypatch.setattr(without_snapshots, "allocate_during", laid)
    run = Run(cancel=lambda: len(asked_for) >= cancelled)
    assert not [*placed_without_told(found, run)]
    assert len(asked_for) == laid_out
