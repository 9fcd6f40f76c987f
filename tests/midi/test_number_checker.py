"""The plain checker: each thing that a falsified answer breaks is found."""

from __future__ import annotations

import attrs
import pytest

from knobpack.errors import KnobpackError
from knobpack.midi import KnobNumber, Listening, Sent
from knobpack.midi import numbers as module
from knobpack.midi.control_change_table import ASSIGNABLE
from knobpack.midi.number_checker import number_breaches
from knobpack.midi.numbers import controller_numbers
from knobpack.midi.numbers_wanted import wanted_of
from tests.midi.numbered_setups import setup

MADE = setup({"K1": [("Pad", 3)], "K2": [("Pad", 3)], "K3": [("Pad", 3), ("Bass", 3)]}, bits=10)
ASKED = {
    "channel": {"Pad": 1, "Bass": 2},
    "listening": [Listening("Lead", 1, (20, 53))],
    "deliberate": {"K2": 20},
    "fine": ["K1"],
    "allowed": ASSIGNABLE,
    "parameters": [(1, 1)],
    "previous": None,
    "master": True,
}
WANTED = wanted_of(MADE, **ASKED)  # type: ignore[arg-type]
RIGHT = controller_numbers(MADE, **ASKED).knobs  # type: ignore[arg-type]


def _sent(place: int, sent: Sent) -> tuple[KnobNumber, ...]:
    changed = attrs.evolve(RIGHT[place], sent=sent)
    return (*RIGHT[:place], changed, *RIGHT[place + 1 :])


def test_the_answer_itself_breaks_nothing() -> None:
    assert number_breaches(WANTED, RIGHT) == ()
    assert [each.sent for each in RIGHT] == [Sent(14, 46), Sent(20), Sent(), Sent(15)]


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
        (_sent(1, Sent(22)), "it is not sent on 20, as asked"),
        (_sent(1, Sent()), "it is not sent on 20, as asked"),
        (_sent(2, Sent(22)), "no one channel is right"),
        (_sent(0, Sent(14)), "46, its low half, is not used"),
        (_sent(0, Sent(14, 47)), "47 is not the low half of 14"),
        (_sent(0, Sent(80, 112)), "112 is not the low half of 80"),
        (_sent(3, Sent(15, 47)), "14 bits were not asked for"),
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
