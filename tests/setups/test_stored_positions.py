"""Stored positions carried to another setup: worked by hand, and against plain Python.

M2-115-U 3 (64 of 127 is 512 of 1023); whose position stands where bundles are joined is common
practice, no source.
"""

from __future__ import annotations

from collections import Counter

import attrs

from knobpack.setups.as_read import read
from knobpack.setups.stored_positions import Origin, Overruled, carried, overruled_told
from knobpack.words import (
    Destination,
    KnobPosition,
    Route,
    Setup,
    Snapshot,
    Surface,
    Voice,
)
from tests.oracles.amount import EXAMPLES
from tests.oracles.simulation import Plain
from tests.simulation.setups import seeded_setup


def setup(name: str, bits: int, drives: dict[str, str], snapshots: tuple[Snapshot, ...]) -> Setup:
    """Voices of what the knobs drive, each destination of the priority that its name ends in."""
    inner: dict[str, list[Destination]] = {}
    for full in drives:
        voice, _, end = full.partition("/")
        inner.setdefault(voice, []).append(Destination(end, priority=int(end[-1])))
    return Setup(
        name,
        Surface.row(4, bits=bits),
        tuple(Voice(voice, tuple(ends)) for voice, ends in inner.items()),
        routes=tuple(Route(full, knob) for full, knob in drives.items()),
        snapshots=snapshots,
    )


def at(**positions: int) -> tuple[KnobPosition, ...]:
    return tuple(KnobPosition(knob, position) for knob, position in positions.items())


STRINGS = setup(
    "Strings",
    7,
    {"strings/level 2": "K1", "strings/cutoff 3": "K2", "strings/pan 4": "K3"},
    (
        Snapshot("swell", ("strings/level 2",), positions=at(K2=64, K3=127)),
        Snapshot("bright", ("strings/cutoff 3",), positions=at(K1=100, K2=5, K3=127)),
    ),
)
NAMES = {name: name for name in read(STRINGS).destinations}


def test_positions_go_where_their_destinations_go_scaled_once() -> None:
    made = setup(
        "Both",
        10,
        {"strings/level 2": "K4", "strings/cutoff 3": "K1", "strings/pan 4": "K2"},
        (
            Snapshot("swell", ("strings/level 2",)),
            Snapshot("held", positions=at(K3=7)),
            Snapshot("all", ("strings",)),
        ),
    )
    found = carried(made, [Origin(STRINGS, NAMES, {"swell": "swell"})])
    swell, held, everything = found.snapshots
    assert swell.stored == {"K1": 512, "K2": 1023}
    # No snapshot of the strings stands for this one. Pan is held in both at one place; level and
    # cutoff are each held in one alone, and K2 at 5 of "bright" is passed over: it follows there.
    # 100 of 127, 1100100, is 1100100 and below it the first of its low bits, 100100, again.
    assert held.stored == {"K3": 7, "K4": 0b1100100100, "K1": 512, "K2": 1023}
    assert everything.stored == {}
    assert found.overruled == ()
    assert [each.name for each in found.snapshots] == ["swell", "held", "all"]
    assert attrs.evolve(swell, positions=()) == made.snapshots[0]


def test_where_joined_bundles_disagree_the_more_important_one_stands() -> None:
    organ = setup(
        "Organ",
        7,
        {"organ/drive 3": "K1", "organ/level 1": "K2"},
        (Snapshot("still", positions=at(K1=30, K2=90)),),
    )
    made = setup(
        "Both",
        7,
        {
            "organ/drive 3": "K1",
            "organ/level 1": "K2",
            "strings/cutoff 3": "K1",
            "strings/level 2": "K2",
            "strings/pan 4": "K3",
        },
        (Snapshot("still"),),
    )
    origins = [
        Origin(STRINGS, NAMES, {"still": "bright"}),
        Origin(organ, {name: name for name in read(organ).destinations}, {"still": "still"}),
    ]
    found = carried(made, origins)
    # K1: of equal importance the first, and cutoff followed in "bright". K2: level 1 before 2.
    assert found.snapshots[0].stored == {"K1": 30, "K2": 90, "K3": 127}
    assert found.overruled == (
        Overruled("still", "K2", "strings/level 2", 100, 90, "organ/level 1"),
    )
    assert str(found.overruled[0]) == (
        "In snapshot 'still' K2 stands at 90 for organ/level 1; strings/level 2, which shares the "
        "knob, stood at 100."
    )
    # Where it is not known of the more important one, what is known of the other stands: the
    # instrument stores it, and nothing takes it away. What the snapshot itself says of the knob
    # does not stand if anything was known of what it drives.
    silent = attrs.evolve(organ, snapshots=(Snapshot("still"),))
    unknown = attrs.evolve(origins[1], setup=silent)
    said = attrs.evolve(made, snapshots=(Snapshot("still", positions=at(K1=1, K2=1, K4=1)),))
    for each, stored in ((made, {}), (said, {"K1": 1, "K4": 1})):
        found = carried(each, [origins[0], unknown])
        assert found.snapshots[0].stored == stored | {"K2": 100, "K3": 127}
        assert found.overruled == ()


def test_what_gives_way_alike_is_told_in_one_sentence() -> None:
    overruled = [
        Overruled(snapshot, "3", name, 64, stands, "organ/level")
        for snapshot, stands in (("one", 0), ("two", 9), ("three", 0))
        for name in ("pad/tone", "pad/pan")
    ]
    assert list(overruled_told(overruled)) == [
        (
            "In snapshots 'one' and 'three' knob 3 stands at 0 for organ/level; pad/tone and "
            "pad/pan, which share the knob, stood at 64."
        ),
        (
            "In snapshot 'two' knob 3 stands at 9 for organ/level; pad/tone and pad/pan, which "
            "share the knob, stood at 64."
        ),
    ]
    assert not list(overruled_told(()))


def test_what_is_not_known_everywhere_or_differs_is_not_made_up() -> None:
    made = setup("Made", 7, {"strings/pan 4": "K1"}, (Snapshot("other"),))
    for third, expected in (
        (at(K3=127), {"K1": 127}),
        (at(K3=126), {}),
        ((), {}),
    ):
        more = (*STRINGS.snapshots, Snapshot("third", positions=third))
        origin = Origin(attrs.evolve(STRINGS, snapshots=more), NAMES, {})
        assert carried(made, [origin]).snapshots[0].stored == expected
    none = Origin(attrs.evolve(STRINGS, snapshots=()), NAMES, {})
    assert carried(made, [none]).snapshots == made.snapshots
    assert carried(attrs.evolve(made, snapshots=()), [none]).snapshots == ()


def test_the_positions_of_a_setup_stay_its_own() -> None:
    """Brought to itself, a setup keeps all it has, faults as well: K9, K1 that follows, 999."""
    faulty = attrs.evolve(
        STRINGS,
        snapshots=(Snapshot("swell", ("strings/level 2",), positions=at(K9=3, K1=8, K4=999)),),
    )
    found = carried(faulty, [Origin(faulty, NAMES, {"swell": "swell"})])
    assert found.snapshots == faulty.snapshots


def ends(plain: Plain) -> list[tuple[str, str]]:
    return [(route.destination, route.knob) for route in plain.routes()]


def test_random_positions_are_those_that_plain_python_finds() -> None:
    seen: Counter[str] = Counter()
    for seed in range(max(200, EXAMPLES)):
        old, choose = seeded_setup(seed)
        old = attrs.evolve(old, surface=attrs.evolve(old.surface, bits=7))
        new = attrs.evolve(
            old,
            surface=attrs.evolve(old.surface, bits=10),
            routes=tuple(
                attrs.evolve(each, knob=choose.pick(old.surface.knob_names or ("Gone",)))
                for each in old.routes
            ),
            snapshots=tuple(attrs.evolve(each, positions=()) for each in old.snapshots),
        )
        full = [f"{v.name}/{inner.name}" for v in old.voices for inner in v.destinations]
        same = {each.name: each.name for each in old.snapshots}
        found = carried(new, [Origin(old, {name: name for name in full}, same)])
        was, now = Plain(old), Plain(new)
        overruled = {(each.snapshot, each.knob, each.destination) for each in found.overruled}
        for snapshot in found.snapshots:
            for knob in old.surface.knob_names:
                on = [name for name in full if (name, knob) in ends(now)]
                known: list[tuple[str, int]] = []
                for name in on:
                    still = (name, knob) in ends(was)
                    places = [
                        place
                        for each in ((knob,) if still else old.surface.knob_names)
                        if (name, each) in ends(was)
                        and (place := was.stands(snapshot.name, each)) is not None
                    ]
                    # Up to the centre a shift; above it the low six bits again below (3.3).
                    known += [
                        (name, p << 3 if p <= 64 else p << 3 | (p & 63) >> 3) for p in places[:1]
                    ]
                if now.following(snapshot.name, knob) or not known:
                    assert knob not in snapshot.stored
                    seen["follows" if on else "idle"] += 1
                    continue
                order = [i for v in old.voices for i in v.destinations]
                priority = {name: i.priority for name, i in zip(full, order, strict=True)}
                stands = min(known, key=lambda each: priority[each[0]])[1]
                assert snapshot.stored.get(knob) == stands
                seen["stands"] += 1
                for name, place in known:
                    assert ((snapshot.name, knob, name) in overruled) == (place != stands)
                    seen["overruled"] += place != stands
    sorts = ("follows", "idle", "stands", "overruled")
    assert min(seen[each] for each in sorts) > 5, seen
