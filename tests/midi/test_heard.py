"""What was turned is put into a setup: positions of a snapshot, travels of knobs."""

from __future__ import annotations

from typing import Any

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobpack import (
    Destination,
    InputError,
    KnobPosition,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from knobpack.midi import (
    Sent,
    controller_numbers,
    hear_positions,
    hear_travels,
    read_recording,
    sweep_file,
)
from knobpack.words import KnobSending
from tests.midi.test_recordings import heard, sent
from tests.oracles.replay import replay

ORGAN = Voice("Organ", (Destination("level"), Destination("tone")), layer=1, channel=2)
BASS = Voice("Bass", (Destination("level"),), layer=2, channel=3)
SETUP = Setup(
    "Evening set",
    Surface.row(4, bits=10),
    (ORGAN, BASS),
    routes=(Route("Organ/level", "K1"), Route("Organ/tone", "K2"), Route("Bass/level", "K3")),
    travels=(KnobTravel("K1", Travel(0, 1023)),),
    snapshots=(
        Snapshot("All", ("Organ", "Bass")),
        Snapshot("Bass alone", ("Bass",), positions=(KnobPosition("K2", 7),)),
    ),
    sending=(
        KnobSending("K1", 16),
        KnobSending("K2", 17),
        KnobSending("K3", 18, fine=True),
        KnobSending("K4", turning="endless"),
    ),
)
IN_7, IN_14 = sent((16, 3), (16, 64), channel=2), sent((16, 64), (48, 0), (48, 1), channel=2)


def test_64_of_127_is_512_of_1023() -> None:
    """And so is 64 and 0 of 14 bits: 8,192 of 16,383 (M2-115-U 3: the centre stays the centre)."""
    for changes in (
        IN_7,
        [*IN_14, *((900, 2, each, 64 if each == 16 else 0) for each in (16, 48))],
    ):
        found = hear_positions(SETUP, heard(*changes), "Bass alone")
        assert found.setup.snapshots[1].stored == {"K2": 7, "K1": 512}
        assert found.done == ("In 'Bass alone' K1 is put at 512, which was not known before.",)
    turned = heard(*sent((16, 0), (16, 20), (16, 64), channel=2))
    assert hear_travels(SETUP, turned).setup.travels == (KnobTravel("K1", Travel(0, 512)),)
    assert hear_positions(SETUP, heard(*IN_14), "Bass alone").setup.snapshots[1].stored["K1"] == 512


def test_a_position_is_put_into_the_snapshot_and_nothing_else_changes() -> None:
    changes = sent((17, 127), (74, 1), channel=2) + sent((18, 9), (50, 3), channel=3)
    found = hear_positions(SETUP, heard(*changes), "Bass alone")
    bass = attrs.evolve(SETUP.snapshots[1], positions=(KnobPosition("K2", 1023),))
    assert found.setup == attrs.evolve(SETUP, snapshots=(SETUP.snapshots[0], bass))
    assert found.sentences == (
        "In 'Bass alone' K2 is put at 1023, and was at 7.",
        "K3 follows the master in 'Bass alone': it has no position there.",
        "Not heard: K1.",
        (
            "Heard: controller 17 (General Purpose Controller 2) on channel 2 is K2's and "
            "controller 18 (General Purpose Controller 3) on channel 3 is K3's."
        ),
        "Controller 74 (Brightness) on channel 2 was heard, and is no knob's.",
        "Controller 18 on channel 3: 14 bits, the high half first.",
    )
    assert replay(SETUP, found.sheet.steps) == found.setup
    again = hear_positions(found.setup, heard(*changes), "Bass alone", numbers={"K2": 17})
    assert again.setup == found.setup
    assert again.done == ("In 'Bass alone' K2 is put at 1023, as before.",)


def test_a_travel_goes_to_the_end_that_was_come_to_first() -> None:
    up = [(at * 10, 2, 16, value) for at, value in enumerate([40, 20, 60, 100, 90])]
    found = hear_travels(SETUP, heard(*up))
    assert found.setup.travels == (KnobTravel("K1", Travel(160, 804)),)
    down = [(at, channel, number, 120 - value) for at, channel, number, value in up]
    assert hear_travels(SETUP, heard(*down)).setup.travels == (KnobTravel("K1", Travel(804, 160)),)
    assert replay(SETUP, found.sheet.steps) == found.setup


def test_where_a_knob_is_taken_up_is_no_end_of_its_travel() -> None:
    found = hear_travels(SETUP, heard(*sent((17, 127), (17, 30), (17, 31), (17, 50), channel=2)))
    assert found.setup.travels[1] == KnobTravel("K2", Travel(240, 400))
    assert found.notes[0] == (
        "K2 first sent 127, then leapt to 30: as no hand turns so fast, 127 does not count."
    )


@pytest.mark.parametrize(("second", "start"), [(71, 320), (72, 577)])
def test_a_first_step_of_a_quarter_of_the_range_is_no_turn(second: int, start: int) -> None:
    """Common practice, no source. A quarter of 127 from 40 is 71.75; 40 is 320 of 1023, 72 577."""
    found = hear_travels(SETUP, heard(*sent((16, 40), (16, second), (16, 80), channel=2)))
    assert found.setup.travels[0].travel.start == start


def test_a_knob_that_stays_keeps_its_travel_and_a_switch_is_told() -> None:
    found = hear_travels(SETUP, heard(*sent((16, 5), channel=2), *sent((17, 9), channel=2)))
    assert found.setup == SETUP
    assert found.sentences[0] == "Nothing was put into the setup."
    assert "K1 was not turned: its travel stays." in found.notes
    switched = sent((17, 0), (17, 0), (17, 127), (17, 0), channel=2)
    assert "K2 was only at its two ends: it may be a switch." in (
        hear_travels(SETUP, heard(*switched)).notes
    )


def test_with_the_master_a_travel_goes_the_way_the_master_goes() -> None:
    known = controller_numbers(SETUP)
    on = known.master_number
    assert isinstance(on, int)
    changes = [
        *((0, 1, on, 40), (1, 2, 16, 90)),
        *((10, 1, on, 20), (11, 2, 16, 100)),
        *((20, 1, on, 127), (21, 2, 16, 30), (30, 1, on, 126), (31, 2, 16, 20)),
    ]
    found = hear_travels(SETUP, heard(*changes), master_number=on)
    assert hear_travels(SETUP, heard(*changes), numbers=known).setup == found.setup
    assert found.setup.travels == (KnobTravel("K1", Travel(804, 240)),)
    assert [each for each in found.notes if f"controller {on} " in each.lower()] == [
        (
            "Heard: controller 16 (General Purpose Controller 1) on channel 2 is K1's and "
            f"controller {on} (Undefined) on channel 1 is the master's."
        )
    ]
    # It is known as the master too where only positions are stored.
    stored = hear_positions(SETUP, heard(*changes), "Bass alone", numbers=known)
    told = [each for each in stored.notes if f"controller {on} " in each.lower()]
    assert all(each.endswith(" is the master's.") for each in told)
    assert any(
        f"controller {on} " in each.lower()
        for each in hear_positions(SETUP, heard(*changes), "Bass alone").notes
    )


@pytest.mark.parametrize("bits", [7, 10, 14])
@settings(max_examples=40)
@given(st.data())
def test_a_sweep_that_was_written_is_heard_as_the_travels_it_was_made_of(
    bits: int, data: st.DataObject
) -> None:
    ends = st.integers(0, 2**bits - 1)
    travels = tuple(
        KnobTravel(knob, Travel(data.draw(ends), data.draw(ends))) for knob in ("K1", "K2", "K3")
    )
    surface = Surface.row(4, bits=bits)
    setup = attrs.evolve(SETUP, surface=surface, travels=travels, sending=())
    numbers: Any = {"K1": 16, "K2": 74, "K3": 3}
    master: Any = 1
    if bits > 7:
        numbers, master = {"K1": (16, 48), "K2": (17, 49), "K3": (18, 50)}, (1, 33)
    file = sweep_file(setup, "All", numbers, master_number=master, seconds=2)
    blank = attrs.evolve(setup, travels=())
    found = hear_travels(blank, read_recording(file.data), numbers=numbers, master_number=master)
    moving = tuple(each for each in travels if not each.travel.empty)
    assert found.setup == attrs.evolve(blank, travels=moving)


def test_the_numbers_that_were_chosen_are_swept_with_that_of_the_master() -> None:
    chosen = controller_numbers(SETUP)
    assert chosen.master_number is not None
    one_by_one = sweep_file(SETUP, "All", chosen.numbers, master_number=chosen.master_number)
    assert sweep_file(SETUP, "All", chosen) == one_by_one
    assert sweep_file(SETUP, "All", chosen.numbers) != one_by_one


def test_the_numbers_that_were_chosen_can_be_heard() -> None:
    free = attrs.evolve(SETUP, sending=())
    chosen = controller_numbers(free, fine=True, allowed=(16, 70), parameters=((1, 2), (1, 3)))
    parameters = {each.knob: each for each in chosen.knobs if each.sent.parameter}
    assert parameters
    changes = []
    for at, each in enumerate(chosen.knobs):
        pairs: tuple[tuple[int, int], ...]
        if each.sent.parameter:
            high, low = each.sent.parameter
            pairs = ((99, high), (98, low), (6, 10 + at), (38, 5), (6, 100 + at), (38, 5))
        else:
            number = each.sent.number or 0
            pairs = ((number, 10 + at), (number + 32 if each.sent.low else number, 5))
        changes += sent(*pairs, channel=each.channels[0])
    found = hear_travels(free, heard(*changes), numbers=chosen)
    assert {each.knob for each in found.setup.travels} >= set(parameters) - {""}


def test_the_same_knob_on_two_channels_is_heard_once() -> None:
    setup = attrs.evolve(SETUP, routes=(Route("Organ/level", "K1"), Route("Bass/level", "K1")))
    changes = [*sent((16, 1), (16, 9), channel=2), *sent((16, 8), channel=3)]
    found = hear_positions(setup, heard(*changes), "Bass alone")
    assert found.notes[0] == "K1 was heard on channels 2 and 3, and not the same: channel 2 counts."
    assert found.setup.snapshots[1].stored["K1"] == 72


def test_what_comes_on_another_channel_is_no_knobs() -> None:
    found = hear_positions(SETUP, heard(*sent((16, 1), channel=9)), "Bass alone")
    assert found.setup == SETUP
    assert any("on channel 9 was heard, and is no knob's" in each for each in found.notes)


def test_an_endless_knob_has_no_position() -> None:
    endless = (KnobSending("K1", 16, turning="endless"),)
    found = hear_positions(attrs.evolve(SETUP, sending=endless), heard(*IN_7), "Bass alone")
    assert found.done == ()
    assert found.notes == ("K1 is endless and has no position: it was passed over.",)


ROUTED = attrs.evolve(SETUP, surface=attrs.evolve(SETUP.surface, travel_on="route"))
SILENT = attrs.evolve(SETUP, sending=())

REFUSED: list[tuple[Any, str, str]] = [
    (lambda: hear_positions(SETUP, heard(), "Bas alone"), ".snapshot", "name a snapshot"),
    (
        lambda: hear_positions(attrs.evolve(SETUP, snapshots=()), heard(), "everything"),
        ".snapshot",
        "stores no snapshot",
    ),
    (lambda: hear_positions(SETUP, 5, "All"), ".recording", "give a Recording"),  # type: ignore[arg-type]
    (lambda: hear_travels(5, heard()), ".setup", "give a Setup"),  # type: ignore[arg-type]
    (lambda: hear_travels(ROUTED, heard()), ".setup", "on each route"),
    (lambda: hear_travels(SILENT, heard()), ".numbers", "give the number of each knob"),
    (lambda: hear_travels(SETUP, heard(), numbers={"k1": 1}), ".numbers", "close to it: K1"),
    (lambda: hear_travels(SETUP, heard(), numbers={"K1": 120}), ".numbers['K1']", "from 1 to 119"),
    (
        lambda: hear_travels(SETUP, heard(), numbers={"K1": (1, 2)}),
        ".numbers['K1']",
        "higher by 32",
    ),
    (lambda: hear_travels(SETUP, heard(), numbers=7), ".numbers", "for each name"),  # type: ignore[arg-type]
    (lambda: hear_travels(SETUP, heard(), master_number=1), ".master_number", "leave it out"),
    (
        lambda: hear_travels(SETUP, heard(), master_number=Sent(parameter=(1, 2))),
        ".master_number",
        "leave it out",
    ),
]


@pytest.mark.parametrize(("call", "field", "right"), REFUSED)
def test_what_is_wrong_is_refused(call: Any, field: str, right: str) -> None:
    with pytest.raises(InputError) as refusal:
        call()
    assert refusal.value.field.partition(".")[2] == field[1:]
    assert right in refusal.value.right


def test_where_something_is_missing_it_is_told_which_number_is_whose() -> None:
    found = hear_travels(SETUP, heard(*IN_7))
    assert "Not heard: K2 and K3." in found.notes
    assert (
        "Heard: controller 16 (General Purpose Controller 1) on channel 2 is K1's." in found.notes
    )
    every = [*IN_7, *sent((17, 3), (17, 64), channel=2), *sent((18, 9), (50, 0), channel=3)]
    assert not [told for told in hear_travels(SETUP, heard(*every)).notes if "Heard" in told]
