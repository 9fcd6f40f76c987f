"""What is said about a file, and what is refused."""

from __future__ import annotations

import random
import sys
from typing import Any

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobpack.definition.phrases import CAUTION
from knobpack.errors import InputError, KnobpackError
from knobpack.midi import SweepFile, sweep_file, sweep_files
from knobpack.simulation import sweep
from knobpack.words import KnobTravel, Route, Snapshot, Surface, Travel
from tests.midi.smf import track_of
from tests.midi.swept_setups import any_asked
from tests.oracles.amount import EXAMPLES
from tests.oracles.strategies import Choices
from tests.simulation.setups import stored, two_voices, with_kind


def test_it_is_told_what_is_sent_and_what_is_left_out() -> None:
    found = sweep_file(
        two_voices(),
        "both",
        {"K1": (20, 52), "K2": 7, "K4": 9, "K5": 11},
        master_number=1,
        notes=True,
    )
    assert found.sentences == (
        "Snapshot 'both': the master goes from bottom to top and back in 8 s; 4 of 5 knobs follow.",
        "K1 is sent on controllers 20 and 52, from 0 to 8192 and back.",
        "K2 is sent on controller 7, from 127 to 0 and back.",
        "K4 is sent on controller 9, and stays at 37.",
        "The master is sent on controller 1.",
        "Set at the start and then held: K5 at 0 (controller 11).",
        "Not sent, for want of a number: K3.",
        "Sent in 7 bits, where the surface has 10: K2, K4, K5 and the master.",
        # Four messages for each position: 4000 / 4, and the bottom itself.
        (
            "Each way the master stands at 1,001 of its 1,024 positions, so that a line has "
            "to carry no more than 1,000 messages a second. A longer sweep, of 600 s at most, is "
            "finer."
        ),
        "Held throughout: Pad and Lead, key 60 on channel 1 at velocity 64.",
        "Recall 'both' before you play it: the file does not.",
        f"Levels, or what can change them, move on K2. {CAUTION}",
    )
    assert str(found) == "\n".join(found.sentences)
    assert "<li>" in found._repr_html_()


def test_it_says_what_it_starts_from_and_starts_no_level_at_its_loud_end() -> None:
    """Which end of a travel is the loud one: common practice, no source."""
    numbers = {"K1": 20, "K2": 7, "K3": 9}
    known = sweep_file(stored(), "only Pad", numbers)
    assert "Set at the start and then held: K3 at 96 (controller 9)." in known.sentences
    assert texts(known) == ["Held: K3 at 768, of 1023."]
    unknown = sweep_file(two_voices(), "only Lead", numbers, start={"K1": 8})
    assert unknown.sentences[2:4] == (
        "Set at the start and then held: K1 at 1 (controller 20).",
        # K2 is a level, and its travel starts at the top.
        "Not known where it is held, so check it by ear; set at the start: K2 at 0 (controller 7).",
    )
    assert texts(unknown) == ["Held: K1 at 8, of 1023. Not known, set: K2 at 0, of 1023."]
    assert texts(sweep_file(two_voices(), "both", numbers)) == []


def texts(file: SweepFile) -> list[str]:
    """What the text events of a file say (RP-001: the meta event FF 01)."""
    track = track_of(file.data)
    return [
        message[2:].decode() for now, message in track if message[:2] == b"\xff\x01" and not now
    ]


def test_what_is_left_out_costs_nothing_where_no_value_is_lost() -> None:
    found = sweep_file(two_voices(14), "both", {"K2": 7})
    # 1023 to 0 of 16,383 positions is 7 to 0 of 127; each position asks for one message.
    assert found.sentences[-2] == (
        "Each way the master stands at 4,001 of its 16,384 positions, so that a line has to carry "
        "no more than 1,000 messages a second; no value that can be sent is left out."
    )
    whole = sweep_file(two_voices(7), "both", {"K1": 7})
    assert not any("messages" in each for each in whole.sentences)


@pytest.mark.parametrize(("end", "lost"), [(2000, False), (2001, True)])
def test_one_value_that_is_passed_over_is_told(end: int, lost: bool) -> None:
    # 14 bits ask for two messages: 2001 positions in 4 s. From 0 to 2000 they go one by one.
    travels = (KnobTravel("K1", Travel(0, end)),)
    setup = attrs.evolve(two_voices(14), travels=travels)
    told = " ".join(sweep_file(setup, "only Pad", {"K1": (20, 52)}).sentences)
    assert "at 2,001 of its 16,384 positions" in told
    assert ("no value that can be sent is left out" in told) != lost
    assert ("A longer sweep" in told) == lost


def test_a_setup_without_snapshots_has_one_file_for_everything() -> None:
    bare = attrs.evolve(two_voices(), snapshots=())
    (found,) = sweep_files(bare, {"K1": 20})
    assert (found.snapshot, found.file_name) == ("everything", "01 everything.mid")
    assert found == sweep_file(bare, "everything", {"K1": 20})


@pytest.mark.parametrize(
    ("kind", "snapshot", "numbers", "master", "told"),
    [
        # Only Pad follows: K1 and K2; K3 and K4 are held.
        ("level", "only Pad", {"K1": 20}, None, "move on K1"),
        ("level", "only Pad", {"K3": 20}, None, "are set at the start on K3"),
        (
            "level",
            "only Pad",
            {"K2": 7, "K4": 9},
            None,
            "move on K2 and are set at the start on K4",
        ),
        ("level", "only Pad", {}, 1, "move on K1 and K2"),  # the instrument moves them
        ("level", "only Lead", {"K4": 9}, None, "are set at the start on K4"),  # an empty travel
        ("level", "only Pad", {"K5": 9}, None, ""),  # it carries nothing
        ("level", "only Pad", {}, None, ""),
        ("pan", "only Pad", {"K1": 20, "K2": 7, "K3": 9}, 1, ""),
        ("output volume", "only Pad", {"K1": 20}, None, "move on K1"),
    ],
)
def test_it_cautions_where_it_can_be_loud(
    kind: str, snapshot: str, numbers: dict[str, int], master: int | None, told: str
) -> None:
    setup = with_kind(two_voices(), kind)
    found = sweep_file(setup, snapshot, numbers, master_number=master)
    expected = [f"Levels, or what can change them, {told}. {CAUTION}"] if told else []
    assert [each for each in found.sentences if CAUTION in each] == expected


def test_it_cautions_where_nothing_but_notes_sounds() -> None:
    setup = with_kind(two_voices(), "pan")
    found = sweep_file(setup, "both", {"K1": 20}, notes=True)
    assert found.sentences[-1] == f"The file plays notes by itself. {CAUTION}"
    assert found.loud
    assert not sweep_file(setup, "both", {"K1": 20}).loud


@settings(max_examples=max(20, EXAMPLES // 10))
@given(st.integers(0, 2**32), st.booleans())
def test_whoever_is_cautioned_by_the_sweep_is_by_the_file(seed: int, through_master: bool) -> None:
    asked = any_asked(Choices(random.Random(seed).randint))  # noqa: S311 (no secret)
    panel = asked.setup.surface.knob_names
    numbers = {} if through_master else {knob: 64 + n for n, knob in enumerate(panel)}
    master = 1 if through_master else None
    for found in sweep_files(asked.setup, numbers, seconds=1, master_number=master):
        told = sweep(asked.setup, found.snapshot, master=2).sentences
        if any(CAUTION in each for each in told):
            assert CAUTION in found.sentences[-1]


def test_faults_are_told_as_the_sweep_tells_them() -> None:
    faulty = attrs.evolve(two_voices(), routes=(*two_voices().routes, Route("Gone/x", "K5")))
    remark = "Amiss: K5 is routed to Gone/x, but there is no voice 'Gone'."
    assert remark in sweep(faulty, "both").sentences
    assert remark in sweep_file(faulty, "both", {"K1": 20}).sentences


def test_many_knobs_are_told_in_few_lines() -> None:
    panel = Surface.row(40)
    routes = tuple(Route("Pad/cutoff", knob) for knob in panel.knob_names)
    big = attrs.evolve(two_voices(), surface=panel, routes=routes, travels=())
    numbers = {knob: 64 + n for n, knob in enumerate(panel.knob_names[:30])}
    found = sweep_file(big, "both", numbers)
    assert "18 more knobs that follow." in found.sentences
    assert len(found.sentences) < 30


@pytest.mark.parametrize(
    ("arguments", "field", "value"),
    [
        ({"setup": "Evening"}, ".setup", "Evening"),
        ({"numbers": [20]}, ".numbers", [20]),
        ({"numbers": {"K9": 20}}, ".numbers", "K9"),
        ({"numbers": {"K1": True}}, ".numbers['K1']", True),
        ({"numbers": {"K1": "20"}}, ".numbers['K1']", "20"),
        ({"numbers": {"K1": 20.0}}, ".numbers['K1']", 20.0),
        ({"numbers": {"K1": None}}, ".numbers['K1']", None),
        ({"numbers": {"K1": ()}}, ".numbers['K1']", ()),
        ({"numbers": {"K1": (20, 21)}}, ".numbers['K1']", (20, 21)),
        ({"numbers": {"K1": (52, 20)}}, ".numbers['K1']", (52, 20)),
        ({"numbers": {"K1": (64, 96)}}, ".numbers['K1']", (64, 96)),
        ({"numbers": {"K1": (70, 102)}}, ".numbers['K1']", (70, 102)),
        ({"numbers": {"K1": (20, 52, 84)}}, ".numbers['K1']", (20, 52, 84)),
        ({"numbers": {"K1": (20, 128)}}, ".numbers['K1']", (20, 128)),
        # Two on one number; and 39 is the fine half of 7 (MIDI 1.0, Table III).
        ({"numbers": {"K2": 20, "K1": 20}}, ".numbers['K2']", 20),
        ({"numbers": {"K1": (20, 52), "K2": 52}}, ".numbers['K2']", 52),
        ({"numbers": {"K1": 52, "K2": (20, 52)}}, ".numbers['K2']", 52),
        ({"numbers": {"K1": 39, "K2": 7}}, ".numbers['K2']", 39),
        ({"numbers": {"K1": 7}, "master_number": 39}, ".master_number", 39),
        ({"master_number": 20}, ".master_number", 20),
        ({"master_number": "1"}, ".master_number", "1"),
        ({"channel": 0}, ".channel", 0),
        ({"channel": 17}, ".channel", 17),
        ({"channel": True}, ".channel", True),
        ({"seconds": 0.99}, ".seconds", 0.99),
        ({"seconds": 601}, ".seconds", 601),
        ({"seconds": 10**400}, ".seconds", 10**400),
        ({"seconds": True}, ".seconds", True),
        ({"seconds": "8"}, ".seconds", "8"),
        ({"notes": 60}, ".notes", 60),
        ({"notes": None}, ".notes", None),
        ({"start": {"K9": 0}}, ".start", "K9"),
        ({"start": {"K1": 1024}}, ".start['K1']", 1024),
    ],
)
def test_what_cannot_be_is_refused(arguments: dict[str, Any], field: str, value: object) -> None:
    right: dict[str, Any] = {"setup": two_voices(), "numbers": {"K1": 20}}
    for call, rest in ((sweep_file, {"snapshot": "both"}), (sweep_files, {})):
        with pytest.raises(InputError) as caught:
            call(**(right | rest | arguments))
        assert caught.value.field == f"{call.__name__}{field}"
        assert caught.value.value == value
        assert str(caught.value)


@pytest.mark.parametrize("seconds", [float("nan"), float("inf"), -float("inf")])
def test_seconds_are_a_finite_number(seconds: float) -> None:
    with pytest.raises(InputError, match="from 1 to 600"):
        sweep_file(two_voices(), "both", {}, seconds=seconds)


def test_a_snapshot_that_is_not_there_is_refused() -> None:
    for name in ("gone", None, 1):
        with pytest.raises(InputError) as caught:
            sweep_file(two_voices(), name, {"K1": 20})  # type: ignore[arg-type]
        assert caught.value.field == "sweep_file.snapshot"


@pytest.mark.parametrize("number", range(-1, 130))
def test_numbers_that_mean_something_else_are_refused(number: int) -> None:
    # MIDI 1.0, Table III: bank select 0 and 32, data entry 6 and 38, increment and decrement 96
    # and 97, parameter numbers 98 to 101; 120 to 127 are channel modes. SoundFont 2.04, 8.2.1.
    meaning = {0, 32, 6, 38, 96, 97, 98, 99, 100, 101, *range(120, 128)}
    allowed = 0 <= number < 128 and number not in meaning
    one, two = {"K1": number}, {"K1": (number, number + 32)}
    setup = attrs.evolve(two_voices(2), travels=())
    for numbers, fine in ((one, allowed), (two, allowed and number < 32)):
        if fine:
            assert sweep_file(setup, "both", numbers, seconds=1).data
        else:
            with pytest.raises(InputError):
                sweep_file(setup, "both", numbers)


def test_without_mido_it_is_told_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "mido", None)
    with pytest.raises(KnobpackError, match=r"python -m pip install 'knobpack\[midi\]'") as caught:
        sweep_file(two_voices(), "both", {"K1": 20})
    assert not isinstance(caught.value, InputError)


def test_a_travel_beyond_the_highest_position_ends_there() -> None:
    beyond = (KnobTravel("K1", Travel(0, 5000)),)
    setup = attrs.evolve(two_voices(), travels=beyond, snapshots=(Snapshot("all", ("Pad",)),))
    found = sweep_file(setup, "all", {"K1": 20})
    assert "K1 is sent on controller 20, from 0 to 127 and back." in found.sentences
