"""Which ways are offered: the cheapest of each sort, what matters less before what matters more."""

from __future__ import annotations

import random

import attrs

from knobpack.combination.answer import Combination
from knobpack.combination.combiner import combine, taking
from knobpack.combination.offer import CLEAR, FREE, LEAVE, SHARE
from knobpack.combination.ways import ways_to_place
from knobpack.words import (
    Destination,
    KnobPosition,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from tests.combination.full_panels import BASE, BRASS, WIDE, offer_of, setup, voice


def test_something_less_important_may_be_left_out_instead() -> None:
    # One knob is free, and of two that cannot share it the essential one has it.
    base = setup("Evening set", 2, "Piano/level", snapshots=(Snapshot("all", ("Piano",)),))
    base = attrs.evolve(base, surface=Surface.row(2, destinations_per_knob=1))
    source = attrs.evolve(
        setup("Brass set", 2, "Horn/level", "Brass/level"),
        voices=(voice("Horn", "level", priority=1), voice("Brass", "level", layer=2, priority=3)),
        snapshots=(Snapshot("horn", ("Horn",)), Snapshot("brass", ("Brass",))),
    )
    found = combine(base, source)
    assert found.without_knob == ("Brass/level",)
    offer = found.offers[offer_of(found, LEAVE)]
    assert offer.names == ("Horn/level",)
    assert (offer.tiers[0].value, offer.before[0]) == (256, 16)
    then = taking(found, offer)
    assert then.without_knob == ()
    assert "the destination Horn/level is left out, as asked" in str(then)


def test_no_knob_or_voice_of_the_base_is_cheaper_to_free_than_what_is_offered() -> None:
    found = combine(WIDE, BRASS, insist="Evening set")
    assert found.without_knob == ("Brass/level",)
    assert 0 < len(found.offers) <= 3
    inner = [each.full_name(e) for each in WIDE.voices for e in each.destinations]
    prices = []
    for name in (*inner, *(each.name for each in WIDE.voices)):
        then = combine(WIDE, BRASS, free=name)
        now = {route.destination: route.knob for route in then.setup.routes}
        moves = sum(now[route.destination] != route.knob for route in WIDE.routes)
        unplaced, bundles, *rest = (e.value for e in then.allocation.tiers if e.name != "layout")
        prices.append((unplaced, bundles, moves, *rest))
    assert len(set(prices)) > 1
    offer = found.offers[offer_of(found, FREE)]
    unplaced, bundles, *rest = (e.value for e in offer.tiers if e.name != "layout")
    assert (unplaced, bundles, offer.lost, *rest) == min(prices)


def test_an_offer_says_where_what_it_moves_goes() -> None:
    found = combine(WIDE, BRASS, insist="Evening set")
    for offer in (each for each in found.offers if each.what == FREE):
        (moved,) = offer.moves
        (stays,) = (r.destination for r in WIDE.routes if r.knob == moved.new_knob)
        assert f"{moved.new_knob} then drives {moved.full_name} too, beside {stays}" in str(offer)


def test_of_offers_of_one_sort_and_price_one_leaves_room_for_another_sort() -> None:
    # Any of the four joins any other at the same price.
    like = [f"{name}/level" for name in ("Piano", "Harp", "Bells", "Flute")]
    shot = Snapshot("all", ("Piano", "Harp", "Bells", "Flute"))
    base = setup("Evening set", 4, *like, snapshots=(shot,))
    sorts = [each.what for each in combine(base, BRASS, insist="Evening set").offers]
    assert sorts.count(FREE) == 2
    assert sorts.count(SHARE) == 1


def test_what_matters_less_and_has_a_knob_alone_is_offered_to_be_left_out() -> None:
    rng, seen = random.Random(7), 0  # noqa: S311 (no secret)
    for _ in range(24):
        kinds = ["level", "cutoff", "drive", "pan"]
        inner = tuple(
            Destination(each, priority=rng.choice((1, 2, 3, 4)), travel=None) for each in kinds
        )
        travels = tuple(
            KnobTravel(f"K{at}", rng.choice((Travel(0, 127), Travel(127, 0), Travel(0, 90))))
            for at in range(1, 5)
        )
        source = Setup(
            "Synth set",
            Surface.row(4),
            (Voice("Lead", inner, 1),),
            routes=tuple(Route(f"Lead/{each}", f"K{at}") for at, each in enumerate(kinds, 1)),
            travels=travels,
            snapshots=(Snapshot("Solo", ("Lead/level", "Lead/cutoff", "Lead/pan")),),
        )
        base = attrs.evolve(BASE, surface=Surface.row(4))
        found = combine(base, source)
        assert found.without_knob == ()
        eased = [each for each in found.offers if each.eases and each.what == LEAVE]
        worried = any(each.alarming for each in found.missed)
        if not worried:
            assert eased == list(found.offers)
        for each in found.offers:
            then = taking(found, each)
            alarms = [sum(sum(m.alarms) for m in those.missed) for those in (found, then)]
            assert alarms[1] <= alarms[0]
            assert each.eases or alarms[1] < alarms[0]
            assert then.without_knob == ()
        # What each knob drives, over what, by hand: of four with two knobs there is little to try.
        rank = {f"Lead/{each.name}": each.priority for each in inner}
        troubled = {n for n in _not_as_it_was(found) if rank[n] <= 2}
        could: dict[str, set[str]] = {}
        for name, priority in rank.items():
            (at,) = (each.new_knob for each in found.carried if each.full_name == name)
            alone = len(found.allocation.on(at or "")) == 1
            if not (alone or worried) or priority <= min((rank[n] for n in troubled), default=0):
                continue
            then = combine(base, source, leave=(name,))
            after = {n for n in _not_as_it_was(then) if rank[n] <= 2}
            good = {n for n in troubled - after if rank[n] < priority}
            if good and after <= troubled:
                could[name] = good
        assert {each.names[0]: set(each.eases) for each in eased}.items() <= could.items()
        assert worried or len(eased) == min(len(could), 3)
        for each in eased:
            then = taking(found, each)
            assert not set(each.eases) & _not_as_it_was(then)
            assert (
                tuple(t.value for t in then.allocation.tiers)[1:]
                == tuple(t.value for t in each.tiers)[1:]
            )
            assert f"Left out, as asked: {each.names[0]}." in then.headlines
            assert "then as in its setup" in str(each)
            seen += 1
    assert seen > 3


def _not_as_it_was(found: Combination) -> set[str]:
    """What of a source that drove one thing with each knob shares one, or has another travel."""
    return {
        each.full_name
        for each in found.carried
        if each.new_knob and (each.beside or each.new_travel != each.wanted)
    }


def test_a_snapshot_does_not_keep_all_that_it_moves_from_a_knob() -> None:
    base = setup(
        "Evening set",
        2,
        "Piano/level",
        snapshots=(Snapshot("all", ("Piano",)), Snapshot("piano", ("Piano",))),
    )
    lead = setup(
        "Lead set",
        2,
        "Lead/level",
        "Lead/cutoff",
        snapshots=(Snapshot("solo", ("Lead",)), Snapshot("filter", ("Lead/cutoff",))),
    )
    heavy = attrs.evolve(
        lead,
        voices=(
            attrs.evolve(
                lead.voices[0],
                destinations=(Destination("level", priority=1), Destination("cutoff", priority=2)),
            ),
        ),
    )
    # With it cutoff would find no knob, and so it would come to nothing: it gives way.
    found = combine(base, heavy)
    assert found.without_knob == ()
    assert [each.name for each in found.setup.snapshots] == [
        "all",
        "piano",
        "everything",
        "solo",
    ]
    why = "does not come: if it came too, more would be left out"
    assert [(each.name, each.why) for each in found.gone] == [("filter", why)]
    # Nor does one that would come to the same as another, as nothing else that it moves has a knob.
    same = attrs.evolve(heavy, snapshots=(heavy.snapshots[0], Snapshot("filter", ("Lead/level",))))
    found = combine(base, same)
    assert found.without_knob == ()
    assert [(each.name, each.why) for each in found.gone] == [("filter", why)]


def test_what_matters_least_is_freed_all_at_once_first_and_the_loss_of_all_is_not() -> None:
    """Levels and sends of the base fill the panel: with each send beside its level all is well."""
    ours, theirs = ("Aero", "Brine", "Clay", "Dune"), ("Elm", "Fir", "Gum")
    two = (Destination("level", priority=1), Destination("send", priority=4))
    other = (Destination("level", priority=1), Destination("tone", priority=3))
    base = Setup(
        "Base",
        Surface.row(8),
        tuple(Voice(name, two, at) for at, name in enumerate(ours, 1)),
        routes=tuple(
            Route(f"{name}/{inner.name}", f"K{at + 4 * (inner is two[1])}")
            for at, name in enumerate(ours, 1)
            for inner in two
        ),
        snapshots=(Snapshot("all", ours),),
    )
    guests = tuple(Voice(name, other, at) for at, name in enumerate(theirs, 1))
    inner = [full for each in guests for full in each.by_full_name]
    routes = tuple(Route(full, f"K{at}") for at, full in enumerate(inner, 1))
    travels = (KnobTravel("K1", Travel(127, 0)), KnobTravel("K3", Travel(0, 63)))
    source = Setup("Guests", Surface.row(6), guests, routes=routes, travels=travels)
    source = attrs.evolve(source, snapshots=(Snapshot("all", theirs),))
    found = combine(base, source)
    sends = tuple(f"{name}/send" for name in ours)
    assert next(names for what, names in ways_to_place(found) if what == FREE) == sends
    assert found.offers
    assert all(taking(found, offer).came[0] for offer in found.offers)
    then = combine(base, source, free=sends).allocation
    for name in (*ours, *theirs):
        on = then.on(then.knob_of(f"{name}/level") or "")
        assert sum(each.endswith("/level") for each in on) == 1


def test_an_offer_says_which_levels_move_as_one_and_what_is_to_be_set_by_ear() -> None:
    base = setup("Evening set", 2, "Piano/level", "Harp/level")
    base = attrs.evolve(
        base,
        voices=tuple(voice(n, "level", priority=1) for n in ("Piano", "Harp")),
        snapshots=(Snapshot("all", ("Piano", "Harp")),),
    )
    source = setup("Brass set", 2, "Horn/level", "Brass/level")
    names = ("Horn", "Brass")
    source = attrs.evolve(
        source,
        voices=tuple(voice(n, "level", layer=at, priority=1) for at, n in enumerate(names, 1)),
        snapshots=(Snapshot("brass", names),),
    )
    found = combine(base, source, insist="Evening set")
    frees = [each for each in found.offers if each.what == FREE]
    assert frees
    for offer in frees:
        (joined,) = taking(found, offer).allocation.joined
        (to,) = {each.new_knob for each in offer.places}
        (beside,) = {each.new_knob for each in offer.moves}
        assert offer.first == (
            f"to be set by ear in 'Evening set': {to}",
            f"to be set by ear in 'brass': {beside}",
            joined.short,
        )
        assert "; ".join(offer.first) in offer.lines[2]


def test_an_offer_tells_what_is_held_where_it_sounds_only_where_it_is_not_so_already() -> None:
    held = tuple(KnobPosition(*each) for each in (("K1", 90), ("K2", 80)))
    on = ("Piano/level", "Harp/level", "Flute/tone")
    shots = (
        Snapshot("all", ("Piano", "Harp", "Flute")),
        Snapshot("flute", ("Flute",), positions=held),
    )
    base = setup("Evening set", 3, *on, snapshots=shots)
    routes = (*base.routes, Route("Gone/level", "K4"))
    base = attrs.evolve(base, surface=Surface.row(4), routes=routes)
    shots = Snapshot("brass", ("Horn", "Brass")), Snapshot("horn", ("Horn",))
    found = combine(base, setup("Brass set", 2, "Horn/level", "Brass/level", snapshots=shots))
    freed = taking(found, found.offers[offer_of(found, FREE)])
    told = "Harp/level and Piano/level (K2 at 80) are held where they sound"
    assert f"In snapshot 'brass' {told}." in freed.headlines
    clear = freed.offers[offer_of(freed, CLEAR)]
    assert f"In snapshots 'brass' and 'horn' {told}." in taking(freed, clear).headlines
    assert [each for each in clear.first if "held" in each] == [f"in snapshot 'horn' {told}"]
