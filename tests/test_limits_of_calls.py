"""One value for all limits: what is done with setups, and clashes, take it as questions do."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from importlib import import_module
from itertools import pairwise
from typing import Any

import attrs
import pytest

import knobpack as kp
from knobpack.checked_search import allocate_during
from knobpack.clash import ImpossibleDemands
from knobpack.clash.every import every_clash
from knobpack.combination import taking
from knobpack.errors import InputError, NoLayoutFound
from knobpack.limits import Limits, Progress, Run
from knobpack.words.setup_edits import OwnKnob, Part, Swap
from tests.clash.clash_requests import seeded, strict
from tests.edits.setups import small_setup
from tests.oracles.every_clash import wrong_in


def setup(name: str, voice: str, knobs: int) -> kp.Setup:
    """A setup of one voice, each of its two destinations on a knob if there are two."""
    inner = (kp.Destination("level"), kp.Destination("drive"))
    routes = tuple(
        kp.Route(f"{voice}/{each.name}", f"K{min(at, knobs)}") for at, each in enumerate(inner, 1)
    )
    return kp.Setup(name, kp.Surface.row(knobs), (kp.Voice(voice, inner, 1),), routes=routes)


BASE, OTHER = setup("Evening", "Pad", 3), setup("Harbour", "Bass", 2)
EDITED = kp.edit(BASE, Swap("K1", "K3")).setup
AWAY = kp.move_to_panel(BASE, kp.Surface.row(2)).setup
CROWDED = kp.combine(setup("Evening", "Pad", 2), OTHER)

ASKED = kp.Request(BASE.surface, BASE.voices)

CALLS: dict[str, Callable[..., Any]] = {
    "allocate": lambda **limits: kp.allocate(BASE.voices, BASE.surface, **limits),
    "allocate_request": lambda **limits: kp.allocate_request(ASKED, **limits),
    "combine": lambda **limits: kp.combine(BASE, OTHER, **limits),
    "taking": lambda **limits: taking(CROWDED, CROWDED.offers[0], **limits),
    "edit": lambda **limits: kp.edit(BASE, Swap("K1", "K3"), **limits),
    "take_back": lambda **limits: kp.take_back(EDITED, **limits),
    "move_to_panel": lambda **limits: kp.move_to_panel(BASE, kp.Surface.row(2), **limits),
    "move_home": lambda **limits: kp.move_home(AWAY, **limits),
}


@pytest.mark.parametrize("name", CALLS)
def test_limits_in_one_value_are_those_given_one_by_one(name: str) -> None:
    call = CALLS[name]
    heard: list[Progress] = []
    assert call(limits=Limits(600, progress=heard.append)) == call(time_limit=600)
    assert heard
    for limits in (Limits(effort=0), Limits(0), Limits(cancel=lambda: True)):
        assert told(call, limits=limits) == told(
            call, time_limit=limits.time_limit, effort=limits.effort, cancel=limits.cancel
        )
    for wrong in ({"limits": 600}, {"limits": Limits(600), "time_limit": 5}):
        with pytest.raises(InputError) as caught:
            call(**wrong)
        assert caught.value.field == f"{name}.limits"
    with pytest.raises(InputError) as caught:
        call(time_limit=-1)
    assert caught.value.field == f"{name}.time_limit"


@pytest.mark.parametrize("most", [0, 10_001, True, 2.5])
def test_so_many_are_asked_for_as_can_be(most: Any) -> None:
    found = kp.allocate((kp.Voice("Pad", (kp.Destination("level"),)),), kp.Surface.row(1))
    calls: dict[Callable[..., Any], Any] = {every_clash: found.request}
    calls[kp.questions.best_layouts] = found
    for call, asked_of in calls.items():
        with pytest.raises(InputError) as caught:
            call(asked_of, most=most)
        assert caught.value.field == f"{call.__name__}.most"


def told(call: Callable[..., Any], **limits: Any) -> object:
    """What a call gives, or what it says stopped it."""
    try:
        return call(**limits)
    except NoLayoutFound as error:
        return error.stopped


def test_all_of_an_edit_shares_one_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each search has what those before it left of it."""
    given: list[float] = []

    def noted(request: kp.Request, run: Run) -> kp.Allocation:
        given.append(run.whole.seconds_left)
        return allocate_during(request, run)

    monkeypatch.setattr("knobpack.edits.solution.allocate_during", noted)
    moved = kp.edit(kp.edit(BASE, Swap("K1", "K3")).setup, Swap("K1", "K2")).setup
    given.clear()
    kp.take_back(moved, 1, limits=Limits(1000))
    assert len(given) > 1
    assert given[0] < 1000
    assert all(later < earlier for earlier, later in pairwise(given))


def test_all_of_an_edit_shares_one_effort(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each search has no more than those before it left, and what is used is counted."""
    given, left = list[float](), list[float]()

    def noted(request: kp.Request, run: Run) -> kp.Allocation:
        given.append(run.whole.effort)
        found = allocate_during(request, run)
        left.append(run.whole.effort)
        return found

    monkeypatch.setattr("knobpack.edits.solution.allocate_during", noted)
    combining = import_module("knobpack.combination.giving_way")
    monkeypatch.setattr(combining, "allocate_during", noted)
    moved = kp.edit(kp.edit(BASE, OwnKnob(["Pad/level"])).setup, Swap("K1", "K2")).setup
    for call in (
        lambda limits: kp.take_back(moved, 1, limits=limits),
        lambda limits: kp.combine(
            full(4, "Evening", "Pad"), full(8, "Harbour", "Bass"), limits=limits
        ),
    ):
        given.clear()
        left.clear()
        call(Limits(effort=1.0))
        assert len(given) > 1
        used = [before - after for before, after in zip(given, left, strict=True)]
        assert sum(used) > 0
        for turn, before in enumerate(given):
            assert before <= 1.0 - sum(used[:turn]) + 1e-9


def full(knobs: int, name: str, voice: str) -> kp.Setup:
    """A setup of one voice, a destination on each of its knobs."""
    inner = tuple(kp.Destination(f"input {at}") for at in range(1, knobs + 1))
    routes = tuple(kp.Route(f"{voice}/{each.name}", f"K{at}") for at, each in enumerate(inner, 1))
    return kp.Setup(name, kp.Surface.row(knobs), (kp.Voice(voice, inner, 1),), routes=routes)


def asked(times: int) -> Limits:
    """Limits that cancel once it was asked so often."""
    left = iter(range(times))
    return Limits(cancel=lambda: next(left, None) is None)


def test_an_edit_that_is_cut_off_gives_what_is_known_or_says_that_nothing_is() -> None:
    seen: Counter[str] = Counter()
    for seed in range(10):
        start = small_setup(seed)
        names = [route.destination for route in start.routes]
        for what in (OwnKnob(names[:1]), Part(names[-1:])):
            for times in (0, 4, 12, 40):
                try:
                    found = kp.edit(start, what, limits=asked(times))
                except NoLayoutFound:
                    seen["nothing"] += 1
                except (InputError, ImpossibleDemands):
                    seen["refused"] += 1
                else:
                    seen["proven" if found.proven else "marked"] += 1
    assert min(seen[each] for each in ("proven", "marked")) > 5, seen


def test_every_clash_that_is_cut_off_says_by_what_and_nothing_false() -> None:
    stopped: Counter[str | None] = Counter()
    for seed in range(40):
        request = strict(seeded(seed))
        for times in (1, 5, 25, 400):
            answer = every_clash(request, limits=asked(times))
            by_effort = answer.stopped == "cancelled"
            shown = attrs.evolve(answer, stopped="effort") if by_effort else answer
            assert wrong_in(request, shown) == []
            stopped[answer.stopped] += 1
        assert every_clash(request, limits=Limits(0)).stopped == "time limit"
    assert min(stopped["cancelled"], stopped[None]) > 10


def test_what_a_share_of_the_time_cuts_short_does_not_say_that_the_limit_was_reached() -> None:
    whole = Run(time_limit=60)
    with whole.share(1e-9) as part:
        own = part.watch()
        assert own.over()
        assert part.stopped == own.why == "a share of the time limit"
    assert whole.stopped is None
    assert whole.short == "a share of the time limit"
    assert whole.anew(10**10).stopped == "a share of the time limit"
    gone = Run(time_limit=0)
    with gone.share(0.5) as part:
        assert part.stopped == gone.anew(2).stopped == gone.stopped == "time limit"
