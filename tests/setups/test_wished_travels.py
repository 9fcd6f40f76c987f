"""What a destination had over another travel is what it wishes for from then on."""

from __future__ import annotations

import attrs
import pytest

from knobpack import (
    Away,
    Destination,
    Join,
    KnobTravel,
    OwnKnob,
    Part,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    combine,
    edit,
    patch_sheet,
    take_back,
)
from knobpack.combination import without_source
from knobpack.errors import InputError
from knobpack.files import from_plain, to_plain
from tests.setups.sets import a_set, a_song


def test_what_the_base_had_is_what_it_wishes_for_once_it_goes_over_another_travel() -> None:
    inner = {"level": ("level", Travel(0, 90)), "reverb": ("send", Travel(0, 70))}
    base = a_set("Pad set", inner)
    source = a_set("Bells set", {"bell": ("bell", Travel(0, 80))})
    late = combine(base, source, free=("Pad",)).setup
    (knob,) = {r.knob for r in late.routes if r.destination.startswith("Pad")}
    (goes,) = (each.travel for each in late.travels if each.knob == knob)
    # The one goes as it went, and wishes for nothing; the other wishes for what it had.
    had = {"Pad/level": Travel(0, 90), "Pad/reverb": Travel(0, 70)}
    ((name, travel),) = ((name, had[name]) for name in had if had[name] != goes)
    assert {n: w for n, w in _wishes(late).items() if n in had} == dict.fromkeys(had) | {
        name: travel
    }
    # The source taken away again leaves exactly what was there.
    assert without_source(late, "Bells set") == base
    # It is told on every later sheet, and takes no step of its own.
    sheet = patch_sheet(late, attrs.evolve(late, name="Later"))
    assert len(sheet.steps) == 1
    assert "TRAVELS THAT ARE NOT AS WANTED" in str(sheet)
    # On a knob of its own it goes as it went.
    own = edit(attrs.evolve(late, surface=Surface.row(3)), OwnKnob((name,))).setup
    (knob,) = (route.knob for route in own.routes if route.destination == name)
    assert travel in [each.travel for each in own.travels if each.knob == knob]


def _wishes(setup: Setup) -> dict[str, Travel | None]:
    return {n: each.travel for v in setup.voices for n, each in v.by_full_name.items()}


def test_an_edit_that_joins_leaves_the_wish_for_what_was_had() -> None:
    setup = a_set("Pad set", {"level": ("level", Travel(0, 90)), "reverb": ("send", Travel(9, 70))})
    wide = attrs.evolve(setup, surface=Surface.row(3))
    joined = edit(wide, Join(("K1", "K2")))
    parted = edit(joined.setup, Part(("Pad/level", "Pad/reverb"))).setup
    at = {route.destination: route.knob for route in parted.routes}
    goes = {each.knob: each.travel for each in parted.travels}
    assert goes[at["Pad/level"]] == Travel(0, 90)
    assert goes[at["Pad/reverb"]] == Travel(9, 70)
    assert take_back(joined.setup).setup == wide


def test_a_travel_is_set_otherwise_and_what_no_longer_wants_its_own_is_told() -> None:
    one = a_set("Lead set", {"level": ("level", Travel(60, 127))}).voices[0]
    lead = attrs.evolve(
        one, destinations=(attrs.evolve(one.destinations[0], travel=Travel(60, 127)),)
    )
    sub = Voice("Sub", (Destination("drive", travel=Travel(0, 127)), Destination("level")), 2)
    setup = Setup(
        "Synth set",
        Surface.row(3),
        (lead, sub),
        routes=tuple(Route(name, "K1") for name in ("Lead/level", "Sub/drive")),
        snapshots=(Snapshot("Solo", ("Lead", "Sub")),),
    )
    away = edit(setup, Away(("Sub",)))
    assert (
        "Nothing on K1 wants its 0 to 127 (full) any more: Lead/level wants 60 to 127 (53 %); the "
        "edit 'travel K1 60 127' sets it."
    ) in away.sentences
    done = edit(away.setup, KnobTravel("K1", Travel(60, 127)))
    assert (done.moved, done.proven) == ((), True)
    low = (
        "Lead/level can no longer be turned below 47 % on K1: 60 to 127 (53 %), as it wants, before"
    )
    assert str(done).splitlines() == [
        f"{low} 0 to 127 (full).",
        "K1 from 60 to 127: nothing moves.",
    ]
    assert done.setup.routes == away.setup.routes
    assert [str(step) for step in done.sheet.steps] == [
        "K1: set the travel 60 to 127 (53 %); none was set."
    ]
    assert take_back(done.setup).setup == away.setup
    assert from_plain(to_plain(done.setup)) == done.setup
    # Where something that stays has it, or wants nothing else, there is nothing to tell.
    assert "Nothing on" not in str(edit(setup, Away(("Lead",))))
    # What has the knob to itself wishes for it from then on; what shares it wishes what it wished.
    own = edit(away.setup, KnobTravel("K1", Travel(9, 99))).setup
    assert _wishes(own)["Lead/level"] == Travel(9, 99)
    both = edit(setup, KnobTravel("K1", Travel(9, 99)))
    assert _wishes(both.setup) == _wishes(setup)
    assert "Nothing on" not in str(both)
    for wrong, right in (("K9", "name a knob"), ("K1", "positions run from 0 to 127")):
        with pytest.raises(InputError, match=right):
            edit(setup, KnobTravel(wrong, Travel(0, 128)))
    free = attrs.evolve(setup, surface=attrs.evolve(setup.surface, travel_on="route"))
    with pytest.raises(InputError, match="sets the travel on each route"):
        edit(free, KnobTravel("K1", Travel(0, 9)))


def test_an_edit_of_a_travel_tells_what_all_on_the_knob_had_and_has() -> None:
    """By hand: 60 of 127 is 47 %, 20 is 16 %; what ends lower is told of a level alone."""
    setup = a_song(Travel(20, 90))
    bare = (Destination("level", priority=1), Destination("cutoff"))
    free = attrs.evolve(setup, voices=(attrs.evolve(setup.voices[0], destinations=bare),))
    high = "Lead/level can no longer be turned above 47 % on K1: 0 to 60 (47 %), before"
    assert edit(free, KnobTravel("K1", Travel(0, 60))).sentences == (
        f"{high} 20 to 90 (55 %).",
        "K1 from 0 to 60: nothing moves.",
        "Lead/cutoff had 20 to 90 (55 %) and now has 0 to 60 (47 %) on K1.",
    )
    assert edit(free, KnobTravel("K1", Travel(0, 90))).sentences == (
        "K1 from 0 to 90: nothing moves.",
        "Lead/level and Lead/cutoff had 20 to 90 (55 %) and now have 0 to 90 (71 %) on K1.",
    )
    both = edit(a_song(Travel(127, 0)), KnobTravel("K1", Travel(100, 20))).headlines[0]
    assert both.startswith("Lead/level can no longer be turned below 16 % or above 79 % on K1: ")
    # One in a hundred less is not heard.
    less = edit(free, KnobTravel("K1", Travel(20, 89))).headlines
    assert less == ("K1 from 20 to 89: nothing moves.",)
