"""Labels: they go with their bundles, and what is proposed is short, distinct and never empty."""

from __future__ import annotations

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobpack.edits import BackInUse, OutOfUse, edit
from knobpack.setups.labels import labelled, labels_in
from knobpack.words import Destination, KnobLabel, Route, Setup, Surface, Voice
from tests.words_strategies import setups

ORGAN = Voice("Organ", (Destination("drive", priority=1), Destination("level"), Destination("fan")))
STRINGS = Voice("Strings", (Destination("level", priority=2), Destination("cutoff")))


def panel(
    knobs: dict[str, list[str]], labels: dict[str, str] | None = None, length: int | None = None
) -> Setup:
    """A setup of four knobs."""
    return Setup(
        "Evening set",
        Surface.row(4, label_length=length),
        (ORGAN, STRINGS),
        routes=tuple(Route(name, knob) for knob, names in knobs.items() for name in names),
        labels=tuple(KnobLabel(knob, label) for knob, label in (labels or {}).items()),
    )


def shown(setup: Setup) -> dict[str, str]:
    return {each.knob: each.label for each in setup.labels}


def test_a_label_goes_with_its_bundle() -> None:
    before = panel({"K1": ["Organ/drive", "Organ/level"], "K2": []}, {"K1": "Dirt", "K2": "spare"})
    after = panel({"K3": ["Organ/drive", "Organ/level"]})
    assert shown(labelled(before, after)) == {"K2": "spare", "K3": "Dirt"}
    assert labels_in(before) == {"Organ/drive": "Dirt"}


def test_what_stays_shows_what_it_showed() -> None:
    # Too long for the display, and on two knobs: it is there, so it stays.
    labels = {"K1": "Dirt and more", "K2": "Dirt and more"}
    before = panel({"K1": ["Organ/drive"], "K2": ["Organ/level"]}, labels, length=6)
    more = panel({"K1": ["Organ/drive"], "K2": ["Organ/level"], "K3": ["Strings/cutoff"]}, length=6)
    assert shown(labelled(before, before)) == labels
    assert shown(labelled(before, more)) == {**labels, "K3": "Strcut"}
    # One that showed nothing and drives what it drove is left alone.
    bare = panel({"K1": ["Organ/drive"]}, length=6)
    assert labelled(bare, bare) == bare


def test_of_joined_bundles_the_more_important_one_names_the_knob() -> None:
    before = panel(
        {"K1": ["Organ/drive"], "K2": ["Strings/level", "Strings/cutoff"]},
        {"K1": "Dirt", "K2": "Bows"},
    )
    all_of_it = ["Strings/level", "Strings/cutoff", "Organ/drive"]
    assert shown(labelled(before, panel({"K4": all_of_it}))) == {"K4": "Dirt"}
    # Where one comes to the knob of the other, that knob is still what it was.
    assert shown(labelled(before, panel({"K2": all_of_it}))) == {"K2": "Bows"}


def test_a_label_goes_with_the_most_important_of_what_it_names() -> None:
    before = panel({"K1": ["Organ/drive", "Organ/level", "Organ/fan"]}, {"K1": "Dirt"})
    for after in (
        panel({"K2": ["Organ/drive"], "K3": ["Organ/level", "Organ/fan"]}),
        panel({"K1": ["Organ/level", "Organ/fan"], "K2": ["Organ/drive"]}),
    ):
        assert "Dirt" not in shown(labelled(before, after)).get("K1", "")
        assert shown(labelled(before, after))["K2"] == "Dirt"
    # Of a voice that it speaks of, though something else there is as important.
    joined = panel({"K1": ["Organ/drive", "Strings/cutoff"]}, {"K1": "Strings"})
    parted = panel({"K1": ["Organ/drive"], "K2": ["Strings/cutoff"]})
    assert shown(labelled(joined, parted)) == {"K1": "Organ drive", "K2": "Strings"}


@pytest.mark.parametrize(("label", "joined"), [("Dirt", "Dirt"), ("Organ drive+", "Organ+ drv+")])
def test_a_label_comes_back_with_its_bundle(label: str, joined: str) -> None:
    organ, strings = ["Organ/drive", "Organ/level"], ["Strings/level", "Strings/cutoff"]
    before = panel({"K1": organ, "K2": strings}, {"K1": label})
    before = attrs.evolve(before, surface=Surface.row(2, label_length=12))
    broken = edit(before, OutOfUse("K1")).setup
    assert shown(broken) == {"K2": joined}
    mended = edit(broken, BackInUse("K1")).setup
    assert shown(mended) == {"K1": label}  # the other had none, and has none again


def test_a_label_that_another_knob_shows_gives_way_to_a_proposal() -> None:
    before = panel({"K1": ["Organ/level"]}, {"K1": "Level"})
    after = panel({"K1": ["Organ/level"], "K2": ["Strings/level"]})
    came = {"Strings/level": "LEVEL"}
    assert shown(labelled(before, after, came)) == {"K1": "Level", "K2": "Strings level"}
    # The label of a knob that drives something else now tells nothing any more.
    other = panel({"K1": ["Strings/cutoff"]})
    assert shown(labelled(before, other)) == {"K1": "Strings cutoff"}


def test_without_a_display_nothing_is_proposed() -> None:
    after = panel({"K1": ["Organ/level"], "K2": ["Strings/level"]})
    assert labelled(panel({}), after) == after


@pytest.mark.parametrize(
    ("length", "labels"),
    [
        (120, ["Organ drive", "Organ level", "Organ+ level", "Strings cutoff"]),
        (12, ["Organ drive", "Organ level", "Organ+ level", "Strings cut"]),
        (8, ["Orga drv", "Orga lvl", "Org+ lvl", "Stri cut"]),
        (6, ["Orgdrv", "Orglvl", "Or+lvl", "Strcut"]),
        (4, ["Ordr", "Orlv", "O+lv", "Stcu"]),
        (3, ["Odr", "Olv", "Ol2", "Scu"]),
    ],
)
def test_what_is_proposed_fits_the_display(length: int, labels: list[str]) -> None:
    knobs = {
        "K1": ["Organ/drive"],
        "K2": ["Organ/level"],
        "K3": ["Strings/level", "Organ/level"],
        "K4": ["Strings/cutoff"],
    }
    strings = attrs.evolve(STRINGS, destinations=(Destination("level"), Destination("cutoff")))
    after = attrs.evolve(panel(knobs, length=length), voices=(ORGAN, strings))
    after = attrs.evolve(
        after,
        routes=tuple(
            each for name in knobs.values() for each in after.routes if each.destination in name
        ),
    )
    found = shown(labelled(panel({}), panel(knobs, length=length)))
    assert list(found) == ["K1", "K2", "K3", "K4"]
    assert [found[knob] for knob in ("K1", "K2", "K4")] == [labels[0], labels[1], labels[3]]


def test_several_kinds_and_one_kind_of_several_names() -> None:
    pad = Voice("Pad", (Destination("send 1", kind="send"), Destination("send 2", kind="send")))
    after = Setup(
        "s",
        Surface.row(2, label_length=20),
        (pad, ORGAN),
        routes=(
            Route("Pad/send 1", "K1"),
            Route("Pad/send 2", "K1"),
            Route("Organ/level", "K2"),
            Route("Organ/drive", "K2"),
        ),
    )
    # The most important one stands for the others.
    assert shown(labelled(Setup("s", Surface.row(2)), after)) == {
        "K1": "Pad send",
        "K2": "Organ drive+",
    }


def test_a_large_panel_of_one_name_has_distinct_labels() -> None:
    names = [f"level{'x' * at}" for at in range(100)]
    voices = [Voice(f"Organ{at}", tuple(Destination(name) for name in names)) for at in range(20)]
    full = [voice.full_name(inner) for voice in voices for inner in voice.destinations]
    after = Setup(
        "s",
        Surface.grid(40, 50, label_length=3),
        tuple(voices),
        routes=tuple(Route(name, f"K{at}") for at, name in enumerate(full, 1)),
    )
    found = labelled(Setup("s", after.surface), after).labels
    assert len({each.label.casefold() for each in found}) == 2000
    assert {len(each.label) for each in found} == {3}


@given(
    setups(away=False),
    setups(away=False),
    st.dictionaries(st.sampled_from(["a", "b/c"]), st.just("Dirt")),
)
def test_labels_are_distinct_short_and_never_empty(
    before: Setup, after: Setup, came: dict[str, str]
) -> None:
    found = labelled(before, after, came)
    assert attrs.evolve(found, labels=()) == attrs.evolve(after, labels=())
    was = shown(before)
    new = {knob: label for knob, label in shown(found).items() if was.get(knob) != label}
    length = after.surface.label_length or 120
    assert all(0 < len(label) <= length for label in new.values())
    given = [label.casefold() for label in shown(found).values()]
    assert all(given.count(label.casefold()) == 1 for label in new.values())
    # Where displays show something, no knob that comes to drive something is left without.
    if after.surface.label_length is not None:
        drives = {(each.knob, each.destination) for each in after.routes}
        for knob, _ in drives - {(each.knob, each.destination) for each in before.routes}:
            assert knob in shown(found)
    assert labelled(found, found) == found


@given(setups(away=False))
def test_what_stays_as_it_is_keeps_its_labels(setup: Setup) -> None:
    found = labelled(setup, setup)
    assert shown(found) == shown(setup)


def test_a_label_goes_along_with_nothing_that_matters_more() -> None:
    """That of the strings, which matter less, would tell nothing of the drive beside them."""
    before = panel({"K1": ["Organ/drive"], "K2": ["Strings/level"]}, {"K2": "Bows"}, length=8)
    joined = panel({"K1": ["Organ/drive", "Strings/level"]}, length=8)
    assert shown(labelled(before, joined)) == {"K1": "Or+ drv+"}
    assert shown(labelled(before, panel({"K3": ["Strings/level"]}))) == {"K3": "Bows"}


def test_a_knob_that_drove_something_and_showed_nothing_goes_on_without_a_label() -> None:
    before = panel({"K1": ["Organ/drive"], "K2": ["Organ/level"]}, length=8)
    joined = panel({"K1": ["Organ/drive", "Organ/level"], "K3": ["Organ/fan"]}, length=8)
    assert shown(labelled(before, joined)) == {"K3": "Orga fan"}
