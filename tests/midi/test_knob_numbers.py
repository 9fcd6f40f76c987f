"""Controller numbers: what is said of them, and what the plain checker finds."""

from __future__ import annotations

import attrs
import pytest

from knobpack.errors import KnobpackError
from knobpack.midi import KnobNumber, Listening, Sent, controller_numbers
from knobpack.midi import numbers as module
from knobpack.midi.control_change_table import ASSIGNABLE
from knobpack.midi.knob_numbers import spans
from knobpack.midi.number_checker import number_breaches
from knobpack.midi.numbers_wanted import wanted_of
from knobpack.midi.sent import MASTER
from knobpack.words import KnobSending
from tests.midi.numbered_setups import earlier, on_channels, plain, sending, setup


def test_the_whole_answer_is_told() -> None:
    found = controller_numbers(
        sending(plain(3, bits=10), KnobSending("K2", 74)),
        listening=[
            Listening("Pad", 1, (16, 48, 74)),
            Listening("Lead", 1, (2,)),
            Listening("Choir", 2, (3,)),  # where nothing is sent: it is not told
        ],
        fine=True,
    )
    assert found.sentences == (
        "Evening: 3 of 3 knobs got a controller number; the master has one too.",
        (
            "K1 sends controllers 17 and 49 (14 bits) on channel 1: General Purpose Controller 2, "
            "for any use."
        ),
        (
            "K2 sends controller 74 on channel 1: Brightness, which it really sends; Pad listens "
            "to it; a receiver may take 64 for no change."
        ),
        (
            "K3 sends controllers 18 and 50 (14 bits) on channel 1: General Purpose Controller 3, "
            "for any use."
        ),
        (
            "The master sends controllers 19 and 51 (14 bits) on channel 1: General Purpose "
            "Controller 4, for any use."
        ),
        "Closed on channel 1, because Lead listens there: 2.",
        "Closed on channel 1, because Pad listens there: 16.",
    )
    assert str(found) == "\n".join(found.sentences)


@pytest.mark.parametrize(
    ("number", "caution"),
    [
        # RP-015.
        (11, "Reset All Controllers sets it to 127"),
        (64, "Reset All Controllers sets it to 0; 0 to 63 is off and 64 to 127 on"),
        # M2-113-UM App. A.
        (8, "Reset All Controllers sets it to 64"),
        # GM2 3.3.11 to 3.3.18.
        (71, "a receiver may take 64 for no change"),
        # Table 3 of the MIDI Association; CA-031.
        (84, "a receiver may take it for a note"),
        (88, "a receiver may take it for a velocity"),
        # CA-022 / GM2 4.6.2.
        (102, "a receiver that keeps to CA-022 ignores it"),
    ],
)
def test_what_a_number_means_already_is_said(number: int, caution: str) -> None:
    found = controller_numbers(plain(1), allowed=[number], master=False)
    assert str(found.knobs[0]).endswith(f"{caution}.")


@pytest.mark.parametrize("number", [3, 7, 20, 85, 91])
def test_nothing_is_warned_of_where_nothing_stands_in_the_way(number: int) -> None:
    found = controller_numbers(plain(1), allowed=[number], master=False)
    told = str(found.knobs[0])
    assert ";" not in told
    assert ("undefined" in told) == (number in {3, 20, 85})


def test_why_a_number_is_not_free_is_said() -> None:
    found = controller_numbers(
        plain(2, bits=10),
        listening=[Listening("Pad", 1, (7, 39)), Listening("Lead", 9, (7,))],
        fine=True,
    )
    assert (
        found.why_not(6) == "6 (Data Entry) is reserved: it means something else than a position."
    )
    assert found.why_not(121).startswith("121 (Reset All Controllers) is reserved")
    assert found.why_not(33) == (
        "33 (LSB of 1 (Modulation Wheel)) is a low half: it goes with 1 alone, for 14 bits."
    )
    assert found.why_not(14) == found.why_not(46) == str(found.knobs[0])
    assert found.why_not(110) == "110 (Undefined) is not allowed."
    assert found.why_not(7) == "7 (Channel Volume) on channel 1: Pad listens to 7 and 39."
    assert found.why_not(7, 9) == "7 (Channel Volume) on channel 9: Lead listens to 7."
    assert found.why_not(7, 3) == "7 (Channel Volume) is free on channel 3."
    assert found.why_not(14, 9) == "14 (Undefined) is free on channel 9."


def test_what_is_left_and_what_is_sent_on_parameters_is_told() -> None:
    found = controller_numbers(plain(3), allowed=[14], parameters=[(1, 4)])
    assert found.sentences[:4] == (
        (
            "Evening: 0 of 3 knobs got a controller number, 1 a parameter number; "
            "the master has one too."
        ),
        (
            "K1 sends non-registered parameter 1/4 on channel 1: "
            "the controller numbers that are open have run out."
        ),
        "K2 has no number: those that are open on channel 1 have run out.",
        "K3 has no number: those that are open on channel 1 have run out.",
    )
    none = controller_numbers(setup({"K1": [("Pad", 1)]}), allowed=[])
    assert none.sentences[0] == (
        "Evening: 0 of 1 knob got a controller number; the master has none."
    )
    assert "On channel 1 K1 and the master got no number." in none.sentences[3]


def test_knobs_that_keep_their_number_say_so() -> None:
    before = earlier({"K1": Sent(80), MASTER: Sent(81)})
    found = controller_numbers(plain(1), previous=before)
    assert [str(each).endswith("; as before.") for each in found.knobs] == [True, True]
    moved = KnobNumber("K1", (1,), Sent(3), before=Sent(parameter=(2, 9)))
    assert str(moved).endswith("; it was sent on non-registered parameter 2/9 before.")
    assert attrs.evolve(moved, sent=Sent(parameter=(2, 8))).changed


@pytest.mark.parametrize(
    ("numbers", "text"),
    [
        ((), ""),
        ((3,), "3"),
        ((3, 4), "3 and 4"),
        ((5, 3, 4), "3 to 5"),
        ((3, 9, 14, 15, 16), "3, 9 and 14 to 16"),
        (tuple(range(0, 128, 3)), ", ".join(map(str, range(0, 126, 3))) + " and 126"),
    ],
)
def test_numbers_are_told_as_spans(numbers: tuple[int, ...], text: str) -> None:
    assert spans(numbers) == text


BARE = setup({"K1": [("Pad", 3)], "K2": [("Pad", 3)], "K3": [("Pad", 3), ("Bass", 3)]}, bits=10)
MADE = sending(on_channels(BARE, Pad=1, Bass=2), KnobSending("K2", 20))
ASKED = {
    "channel": None,
    "listening": [Listening("Lead", 1, (20, 53))],
    "fine": True,
    "allowed": ASSIGNABLE,
    "parameters": [(1, 1)],
    "previous": None,
    "master": True,
}
WANTED = wanted_of(MADE, **ASKED)
RIGHT = controller_numbers(MADE, **ASKED).knobs  # type: ignore[arg-type]


def _sent(place: int, sent: Sent) -> tuple[KnobNumber, ...]:
    changed = attrs.evolve(RIGHT[place], sent=sent)
    return (*RIGHT[:place], changed, *RIGHT[place + 1 :])


def test_the_answer_itself_breaks_nothing() -> None:
    assert number_breaches(WANTED, RIGHT) == ()
    assert [each.sent for each in RIGHT] == [Sent(14, 46), Sent(20), Sent(), Sent(15, 47)]


@pytest.mark.parametrize(
    ("knobs", "why"),
    [
        (RIGHT[1:], "not about the knobs"),
        (_sent(0, Sent(6, 38)), "6 is reserved"),
        (_sent(3, Sent(99)), "99 is reserved"),
        (_sent(3, Sent(46)), "46 is a low half"),
        (_sent(3, Sent(110)), "110 is not allowed"),
        (_sent(3, Sent(20)), "Lead listens to 20"),
        (_sent(3, Sent(21)), "Lead listens to 53, the low half of 21"),
        (_sent(3, Sent(14)), "the master sends 14, as K1 does"),
        (_sent(0, Sent(15, 47)), "the master sends 15, as K1 does"),
        (_sent(1, Sent(22)), "it is not sent on 20, as it really is"),
        (_sent(1, Sent()), "it is not sent on 20, as it really is"),
        (_sent(2, Sent(22)), "no one channel is right"),
        (_sent(0, Sent(14)), "46, its low half, is not used"),
        (_sent(0, Sent(14, 47)), "47 is not the low half of 14"),
        (_sent(0, Sent(80, 112)), "112 is not the low half of 80"),
        (_sent(1, Sent(20, 52)), "14 bits were not asked for"),
        (_sent(3, Sent(15, parameter=(1, 1))), "on a controller and on a parameter"),
        (_sent(3, Sent(parameter=(1, 2))), "(1, 2) was not offered"),
    ],
)
def test_each_falsified_answer_is_caught(knobs: tuple[KnobNumber, ...], why: str) -> None:
    assert any(why in breach for breach in number_breaches(WANTED, knobs))


def test_two_on_one_parameter_are_caught() -> None:
    both = _sent(3, Sent(parameter=(1, 1)))
    both = (attrs.evolve(both[0], sent=Sent(parameter=(1, 1))), *both[1:])
    assert any("sends (1, 1), as K1 does" in breach for breach in number_breaches(WANTED, both))


def test_a_wrong_channel_is_caught() -> None:
    moved = (attrs.evolve(RIGHT[0], channels=(3,)), *RIGHT[1:])
    assert number_breaches(WANTED, moved) == ("K1: it is on another channel than its voices",)


def test_a_parameter_where_a_voice_listens_to_what_carries_it_is_caught() -> None:
    heard = attrs.evolve(WANTED, listening=(Listening("Lead", 1, (98,)),))
    given = _sent(3, Sent(parameter=(1, 1)))
    assert "the master: Lead listens to 98, which carries parameters" in number_breaches(
        heard, given
    )


def test_what_does_not_pass_is_not_returned(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "number_breaches", lambda *_: ("wrong",))
    with pytest.raises(KnobpackError, match="do not pass the checker"):
        controller_numbers(MADE, **ASKED)  # type: ignore[arg-type]
