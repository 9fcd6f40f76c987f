"""What runs and type-checks: each construction as a caller would write it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import assert_type

import numpy as np

from knobpack import (
    Allocation,
    Alone,
    Answer,
    Apart,
    Barred,
    Destination,
    Fixed,
    Group,
    Knob,
    Layout,
    OnKnob,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Together,
    Travel,
    Voice,
    Weights,
    allocate,
    allocate_many,
    files,
    pictures,
)
from knobpack.allocation import Tier
from knobpack.combination import Combination
from knobpack.edits import Edited
from knobpack.limits import Limits, Progress
from knobpack.many import Reply
from knobpack.positions import Curve
from knobpack.questions import Budget, Clash, Here, NotThere, Unplaced
from knobpack.show import ShowAllocation
from knobpack.types import Record, Rule, SurfaceLimits, TravelOn, Turning


def destinations() -> Iterator[Destination]:
    """One at a time."""
    yield Destination("cutoff", priority=1)
    yield Destination("level")


SMALL = np.array([1, 2], dtype=np.int64)
LIMITS: SurfaceLimits = {"layers": 4, "routes": None}
ON: TravelOn = "route"
HOW: Turning = "pick-up"

CUTOFF = Destination("cutoff", priority=SMALL[0], travel=Travel(SMALL[0], SMALL[1]), steps=None)
ORGAN = Voice("Organ", [CUTOFF, Destination("level")], layer=SMALL[0])
BASS = Voice("Bass", destinations())
BELLS = Voice("Bells", [Destination("level")])
LOW = Group("low", [BASS, "Bells"])
LEFT = Knob("left", usual=["cutoff"])
PANEL = Surface([LEFT, Knob("right", column=SMALL[1])], reserved=[LEFT], favoured="right")
ROW = Surface.row(SMALL[1], **LIMITS)
GRID = Surface.grid(2, 4, bits=10, travel_on=ON)
SNAPSHOTS = [Snapshot("all", [ORGAN, LOW]), Snapshot("one", "Bass", silent=[ORGAN], idle=LEFT)]
RULES: list[Rule] = [
    Apart(ORGAN.by_full_name, "Bass", weight=1),
    Together(name for name in ("Organ/cutoff", "Organ/level")),
    Apart(ORGAN, [BASS], weight=SMALL[1]),
    Alone([ORGAN.full_name("cutoff"), ORGAN.full_name(CUTOFF)][:1], 5),
    Fixed("Bass/level", LEFT, 3),
    Barred([BASS, LOW], [LEFT, "right"], 2),
]
WEIGHTS = Weights(unplaced=[8, 4, 2, 1], travel=SMALL.repeat(5)[:5])
LAYOUT = Layout.of({"left": ["Organ/cutoff"], "right": "Bass/level"})
REQUEST = Request(
    Surface.row(8),
    [ORGAN, BASS, BELLS],
    groups=[LOW],
    snapshots=SNAPSHOTS[:1],
    rules=RULES[:2],
    weights=WEIGHTS,
)
SETUP = Setup("Set", PANEL, [ORGAN, BASS], routes=[Route("Organ/cutoff", LEFT)])
EDIT = OnKnob([ORGAN, LEFT], LEFT)
CURVE = Curve("concave")
FOUND = allocate([ORGAN, BASS], Surface.row(4), snapshots=SNAPSHOTS[:0], rules=[Alone(BASS)])
AGAIN = allocate(FOUND.request, limits=Limits(time_limit=5))


def answers(found: Allocation, combined: Combination, edited: Edited) -> Iterator[str]:
    """What is asked, in one list; each is saved, drawn and told alike."""
    asked: list[Answer] = [found.why("Bass/level"), found.knob_budget(), found.best_layouts()]
    for answer in asked:
        files.save("answer.json", answer)
        files.save("answer.svg", pictures.draw_reasons(answer))
        yield str(answer.graph.graph["answer"])
    files.save("answers.json", asked)
    files.save("answers.json", {answer.question: answer for answer in asked})
    files.save("answers.json", tuple(asked))
    session: dict[str, files.Filed] = {"base": SETUP, "request": REQUEST, "found": found}
    files.save("session.json", {**session, "combined": combined, "graph": found.graph})
    parts: dict[str, files.InJson] = {"tiers": found.tiers, "panel": PANEL}
    files.save("parts.json", {"layout": parts, "combined": {"offers": combined.offers}})
    for outcome in (combined, edited):
        files.save("outcome.json", outcome)
        yield from outcome.headlines
    yield str(found.tier("sharing").value)


def typed(found: Allocation, combined: Combination, clash: Clash, progress: Progress) -> None:
    """What comes back is of the types that the guide names."""
    assert_type(progress.value, int | None)
    assert_type(clash.instructions, tuple[str, ...])
    assert_type(found.tiers, tuple[Tier, ...])
    assert_type(found.routes, tuple[Route, ...])
    assert_type(found.to_records(), list[Record])
    assert_type(found.why("Bass/level"), Here | Unplaced)
    assert_type(found.why_not("Bass/level", "K2"), NotThere)
    assert_type(found.knob_budget(), Budget)
    assert_type(combined.setup, Setup)
    assert_type(allocate_many([found.request]), tuple[Reply, ...])


def jumping(show: ShowAllocation) -> Iterator[str]:
    """What jumps, one by one."""
    files.save("show.html", show)
    files.save("show.html", show.page())
    assert_type(show.in_order(show.show.songs).show, ShowAllocation)
    for jump in show.jumps:
        yield jump.destination
    yield from (str(each.price) for each in show.songs[0].price_of_demands())
