"""What of a combination is told first: what is essential and lost, and what nothing drives."""

from __future__ import annotations

import attrs
import pytest

from knobpack.combination.combiner import combine
from knobpack.combination.report import Source
from knobpack.sheets.cautions import caution
from knobpack.words import Destination, Route, Setup, Snapshot, Surface, Voice
from tests.combination.test_sources import BASE, LEAD
from tests.oracles.combination import complaints

ESSENTIAL = Setup(
    "Quay set",
    Surface.row(4),
    (Voice("Lead", (Destination("level", priority=1), Destination("pan")), 1),),
    routes=(Route("Lead/level", "D"), Route("Lead/pan", "K1")),
)


@pytest.mark.parametrize(
    "route", [Route("Lead/level", "D"), Route("Lead/levle", "K2")], ids=["knob", "destination"]
)
def test_what_is_essential_and_lost_by_a_slip_is_told_first(route: Route) -> None:
    guest = attrs.evolve(ESSENTIAL, routes=(route, *ESSENTIAL.routes[1:]))
    found = combine(BASE, guest)
    assert found.essential_out == ("Lead/level",)
    assert found.headlines[0] == "Essential, and left out: Lead/level."
    assert found.headlines[1].startswith("1 of 2 came")
    assert complaints(BASE, [Source(guest)], found) == []
    # What another knob drives all the same, or was not to be driven, is not lost.
    twice = attrs.evolve(guest, routes=(*guest.routes, Route("Lead/level", "K3")))
    assert combine(BASE, twice).essential_out == ()
    assert combine(BASE, twice, leave="Lead/level").essential_out == ()
    less = attrs.evolve(guest.voices[0], destinations=LEAD.destinations)
    assert combine(BASE, attrs.evolve(guest, voices=(less,))).essential_out == ()


def test_an_essential_voice_misspelt_is_told_first() -> None:
    guest = attrs.evolve(ESSENTIAL, routes=(Route("Lead/level", "K2"), *ESSENTIAL.routes[1:]))
    found = combine(BASE, Source(guest, ("Laed",)))
    assert found.headlines[0] == "Essential, and left out: Lead/level."
    assert combine(BASE, Source(guest, ("Lead",))).essential_out == ()


def test_an_essential_slip_of_a_voice_renamed_has_its_name_now() -> None:
    taken = attrs.evolve(BASE, voices=(Voice("Lead", (Destination("level"),), 1),))
    assert combine(taken, ESSENTIAL).essential_out == ("Lead (Quay set)/level",)


def test_what_no_knob_of_the_base_drives_is_told_as_on_the_sheet() -> None:
    keys = Voice("Keys", (Destination("level"), Destination("cutoff", priority=1)), 1)
    dead = Voice("Bell", (Destination("level", priority=1), Destination("send", priority=2)), 2)
    base = Setup("Evening set", Surface.row(3), (keys, dead), routes=(Route("Keys/level", "K1"),))
    lead = Voice("Lead", (Destination("level"),), 1)
    source = Setup("Quay set", Surface.row(1), (lead,), routes=(Route("Lead/level", "K1"),))
    found = combine(base, source)
    first, came, rest, *_ = found.sentences
    assert first == "Essential, and driven by no knob: Keys/cutoff and Bell/level."
    assert came == "1 of 1 came."
    assert rest == "No knob drives Bell/send."
    care = caution(base, found.setup)
    assert first in care
    assert rest in care
    # Nothing of what was to come is lost, so this is no loss of this combination.
    assert found.essential_out == ()


def test_a_snapshot_that_is_called_otherwise_here_is_told_once_and_known_where_it_is_gone() -> None:
    piano, pad = (Voice(name, (Destination("level"),), 1) for name in ("Piano", "Pad"))
    base, source = (
        Setup(
            f"{voice.name} set",
            Surface.row(1 + (voice is piano)),
            (voice,),
            routes=(Route(f"{voice.name}/level", "K1"),),
            snapshots=(Snapshot("All", (voice.name,)),),
        )
        for voice in (piano, pad)
    )
    found = combine(base, source)
    told = [line for line in found.headlines if "'Pad set'" in line]
    assert told == [
        "Snapshot 'Pad set' moves nothing but Pad set.",
        "Snapshot 'All' of Pad set is called 'Pad set' here.",
    ]
    gone = combine(base, source, give_up=("Pad set",)).gone
    assert [str(each) for each in gone] == [
        "Pad set: the snapshot 'All' is given up, as asked; here it would be 'Pad set'"
    ]


def test_what_is_left_out_as_asked_is_counted_as_not_come() -> None:
    guest = attrs.evolve(ESSENTIAL, routes=(Route("Lead/level", "K2"), *ESSENTIAL.routes[1:]))
    found = combine(BASE, guest, leave=("Lead/pan",))
    assert found.came == (1, 2)
    assert found.headlines[:2] == ("1 of 2 came.", "Left out, as asked: Lead/pan.")
