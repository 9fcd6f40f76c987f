"""What knobs really send is kept, on the channels that the setup says."""

from __future__ import annotations

import attrs
import pytest

from knobpack.errors import InputError
from knobpack.midi import Sent, controller_numbers
from knobpack.midi.sent import MASTER
from knobpack.words import KnobSending, Setup
from tests.midi.numbered_setups import plain, setup


def sending(made: Setup, *sent: KnobSending) -> Setup:
    return attrs.evolve(made, sending=sent)


def on_channels(made: Setup, **channels: int) -> Setup:
    voices = tuple(attrs.evolve(each, channel=channels.get(each.name)) for each in made.voices)
    return attrs.evolve(made, voices=voices)


def test_what_a_knob_really_sends_is_kept_and_no_one_else_gets_it() -> None:
    bare = controller_numbers(plain(4, bits=10))
    taken = bare.numbers["K1"]
    assert isinstance(taken, int)
    own = (
        KnobSending("K3", taken),
        KnobSending("K2", 7, fine=True),
        KnobSending("K4", turning="endless"),
    )
    found = controller_numbers(sending(plain(4, bits=10), *own))
    # The low half of 7 is 39 (MIDI 1.0, page 12).
    assert found.numbers["K3"] == taken
    assert found.numbers["K2"] == (7, 39)
    assert found.numbers["K1"] not in {taken, 7, 39}
    assert [each.own for each in found.knobs] == [False, True, True, False, False]
    assert f"K3 sends controller {taken} on channel 1: " in "\n".join(found.sentences)
    assert "which it really sends" in str(found.knobs[1])


def test_a_number_beyond_those_that_are_allowed_is_kept_too() -> None:
    found = controller_numbers(sending(plain(2), KnobSending("K1", 110)), allowed=[20, 21])
    assert found.numbers == {"K1": 110, "K2": 20}


def test_what_sends_7_bits_goes_on_doing_so_where_all_are_to_send_14() -> None:
    found = controller_numbers(sending(plain(2, bits=10), KnobSending("K1", 20)), fine=True)
    assert [(each.sent.bits, each.fine) for each in found.knobs[:2]] == [(7, False), (14, True)]


def test_a_knob_that_drives_nothing_keeps_its_number_from_the_others() -> None:
    made = setup({"K1": [("Pad", 3)]}, panel=2)
    free = controller_numbers(made).numbers["K1"]
    assert isinstance(free, int)
    found = controller_numbers(sending(made, KnobSending("K2", free)))
    assert found.numbers["K2"] == free
    assert found.numbers["K1"] != free


def test_what_is_asked_for_goes_before_what_is_sent_now() -> None:
    found = controller_numbers(sending(plain(2), KnobSending("K1", 30)), deliberate={"K1": 31})
    assert found.numbers["K1"] == 31
    assert "as asked" in str(found.knobs[0])


def test_channels_are_those_of_knobs_and_voices() -> None:
    made = setup({"K1": [("Bass", 3)], "K2": [("Pad", 3)], "K3": [("Lead", 3)], "K4": [("Pad", 3)]})
    made = on_channels(made, Bass=3, Pad=2)
    found = controller_numbers(sending(made, KnobSending("K4", 20, channel=5)))
    assert {each.knob: each.channels for each in found.knobs} == {
        "K1": (3,),
        "K2": (2,),
        "K3": (1,),  # nothing is known of its voice
        "K4": (5,),
        MASTER: (1,),
    }
    # One channel for all, where that is asked for.
    assert {each.channels for each in controller_numbers(made, channel=9).knobs} == {(9,)}


def test_a_knob_of_voices_on_several_channels_is_left_unless_its_own_is_known() -> None:
    made = on_channels(setup({"K1": [("Bass", 3), ("Pad", 3)]}), Bass=3, Pad=2)
    found = controller_numbers(sending(made, KnobSending("K1", 20)))
    assert found.knobs[0].sent == Sent()
    assert not found.knobs[0].own
    found = controller_numbers(sending(made, KnobSending("K1", 20, channel=3)))
    assert found.numbers == {"K1": 20}


@pytest.mark.parametrize(
    ("sent", "right"),
    [
        # MIDI 1.0, Table III: 6 is data entry, 99 half a parameter number, 40 the low half of 8.
        ((KnobSending("K1", 6),), "reserved"),
        ((KnobSending("K2", 20), KnobSending("K1", 99)), "reserved"),
        ((KnobSending("K1", 40),), "low halves"),
        ((KnobSending("K1", 20), KnobSending("K2", 20)), "'K1' sends it on channel 1"),
    ],
)
def test_what_cannot_be_told_apart_is_refused(sent: tuple[KnobSending, ...], right: str) -> None:
    with pytest.raises(InputError, match=right) as caught:
        controller_numbers(sending(plain(2), *sent))
    assert caught.value.field.startswith("controller_numbers.setup.sending")


def test_two_knobs_on_two_channels_may_send_one_number() -> None:
    made = sending(plain(2), KnobSending("K1", 20, channel=1), KnobSending("K2", 20, channel=2))
    assert controller_numbers(made).numbers == {"K1": 20, "K2": 20}
