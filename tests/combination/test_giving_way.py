"""Added snapshots give way to whole sources, as few as can be (common practice, no source)."""

from __future__ import annotations

from itertools import chain, combinations

import attrs
import pytest

from knobpack.clash import ImpossibleDemands
from knobpack.combination.answer import Combination
from knobpack.combination.combiner import combine, taking
from knobpack.combination.offer import CLEAR, INSIST, SHARE
from knobpack.combination.report import Source
from knobpack.combination.taken_away import without_source
from knobpack.files import dumps, loads
from knobpack.words import Destination, Route, Setup, Snapshot, Surface, Voice
from tests.combination.full_panels import BASE, BRASS, WIDE, setup
from tests.oracles.combination import complaints

FLUTE = setup("Flute set", 2, "Flute/level", "Flute/tone")
HORN = attrs.evolve(
    setup("Horn set", 2, "Horn/level", "Horn/tone"),
    snapshots=(Snapshot("blow", ("Horn",)), Snapshot("soft", ("Horn/tone",))),
)
ROOM = attrs.evolve(BASE, surface=Surface.row(3))
"""One knob is free."""
TWO = attrs.evolve(BASE, snapshots=(*BASE.snapshots, Snapshot("piano", ("Piano",))))
"""Its player plays it alone."""


def names(found: Combination) -> list[str]:
    return [each.name for each in found.setup.snapshots]


def empty(found: Combination) -> set[str]:
    """The sources of which nothing has a knob."""
    sources = {one.setup.name for one in found.wanted.sources}
    return sources - {each.source for each in found.carried if each.new_knob}


def test_a_full_base_shares_rather_than_leave_a_source_out_and_says_first_what_is_lost() -> None:
    found = combine(BASE, BRASS)
    assert found.came == (1, 1)
    assert found.headlines[0] == (
        "Evening set and Brass set can no longer be played alone: else nothing of Brass set would "
        "find a knob."
    )
    (brass,) = found.carried
    beside = f"{brass.new_knob} of the base drives Brass/level too, beside {brass.beside[0]}"
    assert f"{beside}: they can no longer be moved apart." in found.headlines
    assert names(found) == ["all"]
    assert complaints(BASE, [Source(BRASS)], found) == []
    assert without_source(found.setup, "Brass set") == BASE
    # That nothing comes is no way to bring it, and no offer.
    assert INSIST not in [offer.what for offer in found.offers]
    kept = combine(BASE, BRASS, insist="Evening set")
    assert kept.without_knob == ("Brass/level",)
    # It can be taken back at once.
    share = next(each for each in kept.offers if each.names == ("Evening set",))
    assert taking(kept, share).setup == found.setup


def test_a_knob_that_does_nothing_is_offered_before_all_else() -> None:
    dead = attrs.evolve(ROOM, routes=(*BASE.routes, Route("Gone/level", "K3")))
    found = combine(dead, BRASS)
    assert found.came == (1, 1)
    first = found.offers[0]
    assert (first.what, first.names) == (CLEAR, ("K3",))
    assert "snapshots 'Evening set' and 'Brass set' come" in str(first)
    assert names(taking(found, first)) == ["all", "Evening set", "Brass set"]


@pytest.mark.parametrize(
    ("base", "sources"),
    [
        (BASE, (BRASS,)),
        (BASE, (FLUTE, BRASS)),
        (BASE, (HORN,)),
        (ROOM, (FLUTE, BRASS)),
        (ROOM, (HORN, BRASS)),
        (WIDE, (HORN, FLUTE)),
        (attrs.evolve(ROOM, snapshots=()), (BRASS, HORN)),
        (attrs.evolve(ROOM, surface=Surface.row(3, destinations_per_knob=2)), (FLUTE, BRASS)),
        (TWO, (BRASS,)),
    ],
)
def test_as_few_give_way_as_can_be_and_the_base_s_last(
    base: Setup, sources: tuple[Setup, ...]
) -> None:
    """Against all that could give way, tried one by one."""
    found = combine(base, *sources)
    gone = frozenset(found.gave_way.snapshots if found.gave_way else ())
    every = [] if base is TWO else [base.name]
    for one in sources:
        every += ["blow", "soft"] if one is HORN else [one.name]
    left: dict[frozenset[str], tuple[int, int]] = {}
    for some in chain(*(combinations(every, n) for n in range(len(every) + 1))):
        stay = [each for each in every if each not in some]
        then = combine(base, *sources, give_up=some, insist=stay)
        left[frozenset(some)] = len(empty(then)), then.allocation.tiers[0].value
    best = min(whole for whole, _ in left.values())
    assert left[gone][0] == len(empty(found)) == best
    # One that comes to nothing itself goes too, where that leaves out less.
    assert all(each > left[gone] for some, each in left.items() if some < gone)
    if base.name in gone:
        assert all(whole > best for some, (whole, _) in left.items() if base.name not in some)
    assert bool(gone) == (left[frozenset()][0] > best)


def test_what_is_lived_without_is_not_added_for_the_next_source() -> None:
    first = loads(dumps(combine(BASE, BRASS).setup))
    assert isinstance(first, Setup)
    late = combine(first, FLUTE)
    assert late.came == (2, 2)
    assert late.headlines[0].startswith("Flute set can no longer be played alone: else")
    told = "Evening set: the snapshot 'Evening set' is not added: knobs are shared with what came"
    assert f"{told} before." in late.headlines
    # So it is with a knob to spare, unless it is asked for.
    wide = attrs.evolve(first, surface=Surface.row(3))
    assert names(combine(wide, FLUTE)) == ["all", "Flute set"]
    asked = combine(wide, FLUTE, insist="Evening set")
    assert names(asked) == ["all", "Evening set", "Flute set"]
    # Where nothing is shared it is added.
    apart = combine(ROOM, BRASS, give_up="Evening set").setup
    assert names(combine(attrs.evolve(apart, surface=Surface.row(4)), FLUTE)) == [
        *("all", "Brass set", "Flute set")
    ]


def test_what_must_have_a_knob_is_not_made_impossible_by_what_nobody_asked_for() -> None:
    box = Voice("Box", (Destination("level", must_place=True),), 1)
    attic = Setup("Attic set", Surface.row(1), (box,), routes=(Route("Box/level", "K1"),))
    found = combine(BASE, attic)
    assert found.came == (1, 1)
    assert found.headlines[0] == (
        "Evening set and Attic set can no longer be played alone: what must have a knob would find "
        "none."
    )
    with pytest.raises(ImpossibleDemands):
        combine(BASE, attic, insist="Evening set")


def test_a_late_source_is_offered_the_snapshots_that_came_with_earlier_ones() -> None:
    """All knobs are in use, and each setup so far plays alone: one of these is to be given up."""

    def one(name: str, knobs: int, *destinations: str) -> Setup:
        voice = Voice(f"{name} voice", [Destination(each, priority=1) for each in destinations], 1)
        routes = [
            Route(f"{voice.name}/{each}", f"K{at}") for at, each in enumerate(destinations, 1)
        ]
        snapshots = [Snapshot("All", [voice.name])]
        return Setup(name, Surface.row(knobs), [voice], routes=routes, snapshots=snapshots)

    tonight = combine(one("Evening", 2, "level"), one("Organ", 1, "level")).setup
    assert [each.name for each in tonight.snapshots] == ["All", "Evening", "Organ"]
    found = combine(tonight, one("Late", 1, "level"))
    assert found.essential_out == ("Late voice/level",)
    given_up = {each.names: each for each in found.offers if each.what == SHARE}
    assert set(given_up) == {("Evening",), ("Organ",)}
    then = taking(found, given_up["Organ",])
    assert not then.without_knob
    assert [each.name for each in then.setup.snapshots] == ["All", "Evening"]
    assert "Evening: the snapshot 'Organ' is given up, as asked." in then.sentences
    assert combine(tonight, one("Late", 1, "level"), give_up="Organ").setup == then.setup
