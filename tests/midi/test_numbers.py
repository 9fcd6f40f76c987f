"""Controller numbers of setups: who gets which, and what happens when they run out."""

from __future__ import annotations

from itertools import chain

from knobpack.midi import ControllerNumbers, KnobNumber, Listening, Room, Sent, controller_numbers
from knobpack.midi.control_change_table import ASSIGNABLE
from knobpack.midi.sent import MASTER
from tests.midi.numbered_setups import plain, setup

# Undefined or general purpose, and assignable: Table 3 of the MIDI Association (2020).
FREE = [3, 9, *range(14, 32), 80, 81, 82, 83, 85, 86, 87, 89, 90]


def test_a_row_of_knobs_gets_the_first_row_of_free_numbers() -> None:
    found = controller_numbers(plain(8))
    # 3 and 9 stand alone, 14 to 31 in a row: Table 3.
    assert found.numbers == {f"K{number}": 13 + number for number in range(1, 9)}
    assert found.master_number == 22
    assert found.left == ()
    assert found.room == ()


def test_one_knob_and_the_master_stay_together() -> None:
    found = controller_numbers(plain(1))
    assert (found.numbers, found.master_number) == ({"K1": 14}, 15)
    assert controller_numbers(plain(1), master=False).numbers == {"K1": 3}


def test_free_numbers_go_first_then_those_that_are_reset_last_of_all_switches() -> None:
    found = controller_numbers(plain(len(FREE)), master=False)
    assert sorted(chain(found.numbers.values())) == FREE
    more = controller_numbers(plain(len(FREE) + 8), master=False)
    # 7, 10 and 91 to 95 take a position and outlast Reset All Controllers (RP-015); the eighth is
    # one that it sets.
    extra = set(more.numbers.values()) - set(FREE)
    assert extra - {1, 2, 4, 5, 8, 11, 12, 13} == {7, 10, *range(91, 96)}
    all_but_six = controller_numbers(plain(len(ASSIGNABLE) - 8), master=False)
    unused = set(ASSIGNABLE) - set(all_but_six.numbers.values())
    assert unused == {*range(64, 70), 84, 88}


def test_a_knob_that_drives_nothing_gets_no_number() -> None:
    found = controller_numbers(setup({"K2": [("Pad", 3)], "K5": [("Pad", 3)]}, panel=8))
    assert list(found.numbers) == ["K2", "K5"]
    none = controller_numbers(setup({}, panel=3), master=False)
    assert none.knobs == ()


def test_what_a_voice_listens_to_is_avoided_on_its_channel_alone() -> None:
    heard = [Listening("Lead", 2, (14, 15, 16)), Listening("Pad", 1, (20, 22))]
    there = controller_numbers(plain(3), channel=2, listening=heard)
    assert [*there.numbers.values(), there.master_number] == [17, 18, 19, 20]
    here = controller_numbers(plain(3), channel=1, listening=heard)
    assert [*here.numbers.values(), here.master_number] == [14, 15, 16, 17]
    assert [(closed.channel, closed.number) for closed in here.closed] == [
        (1, 20),
        (1, 22),
        (2, 14),
        (2, 15),
        (2, 16),
    ]


def test_a_voice_that_listens_to_a_low_half_closes_the_high_half() -> None:
    # MIDI 1.0, Table II, note 4: to receive the high half sets the low half to zero.
    found = controller_numbers(plain(1), listening=[Listening("Pad", 1, (46,))], master=False)
    assert found.numbers == {"K1": 3}
    assert [(each.number, each.heard) for each in found.closed] == [(14, (46,))]
    assert "14 (Undefined) on channel 1: Pad listens to 46, its low half" in found.why_not(14)


def test_a_deliberate_number_is_kept_from_all_others() -> None:
    heard = [Listening("Pad", 1, (74, 14))]
    found = controller_numbers(plain(3), listening=heard, deliberate={"K2": 74, MASTER: 11})
    assert found.numbers == {"K1": 15, "K2": 74, "K3": 16}
    assert found.master_number == 11
    second = found.knobs[1]
    assert (second.deliberate, second.heard_by) == (True, ("Pad",))
    assert (found.knobs[3].deliberate, found.knobs[3].heard_by) == (True, ())


def test_a_knob_without_a_route_may_be_given_a_number_deliberately() -> None:
    made = setup({"K1": [("Pad", 3)]}, panel=3)
    # 110 is not among the numbers that are allowed where nothing is said.
    for number in (74, 110):
        found = controller_numbers(made, deliberate={"K3": number}, master=False)
        assert found.numbers == {"K1": 3, "K3": number}


def test_fine_knobs_get_pairs_and_others_leave_them_the_room() -> None:
    fine = [f"K{number}" for number in range(11, 31)]
    found = controller_numbers(plain(30, bits=10), fine=fine, master=False)
    for each in found.knobs:
        if each.fine:
            # MIDI 1.0, page 12: the low half of n is n + 32; 64 and above have none.
            assert each.sent.number in range(1, 32)
            assert each.sent.low == each.sent.number + 32  # type: ignore[operator]
            assert each.sent.bits == 14
        else:
            assert each.sent.low is None
    sent = list(chain.from_iterable(_bytes(each.sent) for each in found.knobs))
    assert len(sent) == len(set(sent)) == 50
    assert found.numbers["K11"] == (found.knobs[10].sent.number, found.knobs[10].sent.low)


def test_beyond_30_pairs_fine_knobs_send_7_bits_and_it_is_said() -> None:
    found = controller_numbers(plain(33, bits=14), fine=True, master=False)
    coarse = [each for each in found.knobs if each.sent.bits == 7]
    # 1 to 5 and 7 to 31 are the 30 assignable high halves.
    assert len(coarse) == 3
    assert all("7 bits are sent and not 14" in str(each) for each in coarse)


def test_previous_numbers_are_kept_and_only_what_must_is_changed() -> None:
    before = controller_numbers(plain(6))
    after = controller_numbers(plain(8), previous=before)
    assert {knob: after.numbers[knob] for knob in before.numbers} == before.numbers
    assert after.master_number == before.master_number
    assert not any(each.changed for each in after.knobs)
    # A voice that comes to listen to one of them takes that one away, and no other.
    moved = controller_numbers(plain(8), previous=after, listening=[Listening("Lead", 1, (16,))])
    assert [each.knob for each in moved.knobs if each.changed] == ["K3"]
    assert "it was sent on controller 16 before" in str(moved.knobs[2])


def test_previous_numbers_may_be_given_by_hand() -> None:
    given: dict[str, int | tuple[int, int]]
    given = {"K1": 90, "K2": (31, 63), "gone": 14, MASTER: 3}
    found = controller_numbers(plain(2, bits=10), previous=given, fine=["K2"])
    assert found.numbers == {"K1": 90, "K2": (31, 63)}
    assert found.master_number == 3
    assert not any(each.changed for each in found.knobs)


def test_what_is_kept_may_mean_something_else() -> None:
    given = {"K1": 64, "K2": 84, "K3": 71}
    found = controller_numbers(plain(3), previous=given, master=False)
    assert found.numbers == given


def test_a_shorter_previous_setup_costs_no_change() -> None:
    before = controller_numbers(plain(8))
    after = controller_numbers(plain(3), previous=before)
    assert after.numbers == {"K1": 14, "K2": 15, "K3": 16}
    assert after.master_number == 22


def test_when_numbers_run_out_the_least_important_are_left_and_the_ways_are_told() -> None:
    made = setup({f"K{n}": [("Pad", 5 if n in {2, 4} else 2)] for n in range(1, 7)})
    found = controller_numbers(
        made,
        allowed=[14, 15, 16, 17, 18],
        listening=[Listening("Lead", 1, (18, 7, 103))],
        master=False,
    )
    assert found.left == ("K2", "K4")
    assert found.numbers == {"K1": 14, "K3": 15, "K5": 16, "K6": 17}
    others = [*range(1, 6), *range(8, 14), *range(19, 32), *range(64, 96)]
    usable = [*others, 102, *range(104, 120)]
    assert found.room == (Room(1, ("K2", "K4"), tuple(usable), (18,)),)
    text = str(found.room[0])
    assert text.startswith("On channel 1 K2 and K4 got no number. Room: allow 1 to 5, 8 to 13, ")
    assert "allow 102 and 104 to 119, which are undefined, as well" in text
    assert "use 18 deliberately, though voices listen there" in text
    assert "NRPN" in text
    assert "another channel" in text
    # Each way gives the room that it says it does.
    wider = controller_numbers(made, allowed=[14, 15, 16, 17, 18, 102, 104], master=False)
    assert wider.left == ()


def test_parameters_take_what_is_left_over_in_the_order_given() -> None:
    asked = [(1, 5), (1, 2), (3, 3)]
    found = controller_numbers(plain(4), allowed=[14, 15], parameters=asked, fine=False)
    sent = {each.knob: each.sent for each in found.knobs}
    # The master stands above the knobs, and equal knobs are left out from the end.
    assert sent[MASTER] == Sent(15)
    assert sent["K1"] == Sent(14)
    assert [sent[knob].parameter for knob in ("K2", "K3", "K4")] == asked
    assert {sent[knob].bits for knob in ("K2", "K3", "K4")} == {14}
    kept = controller_numbers(plain(4), allowed=[14, 15], parameters=asked[::-1], previous=found)
    assert [each.sent for each in kept.knobs] == [each.sent for each in found.knobs]
    more = [*((2, each) for each in range(9)), (1, 2)]
    kept = controller_numbers(plain(4), allowed=[14, 15], parameters=more, previous=found)
    assert [each.sent.parameter for each in kept.knobs[1:4]] == [(2, 0), (1, 2), (2, 1)]


def test_voices_on_several_channels_have_numbers_of_their_own() -> None:
    made = setup(
        {
            "K1": [("Bass", 3)],
            "K2": [("Pad", 3), ("Pad", 4)],
            "K3": [("Bass", 3), ("Pad", 3)],
            "K4": [("Bass", 3)],
        }
    )
    found = controller_numbers(made, channel={"Bass": 5, "Pad": 2})
    where = {each.knob: each.channel for each in found.knobs}
    assert where == {"K1": 5, "K2": 2, "K3": None, "K4": 5, MASTER: 2}
    assert found.numbers == {"K1": 14, "K2": 14, "K4": 15}
    assert found.master_number == 15
    # A knob sends on one channel, so K3 reaches one of its voices at most.
    assert found.left == ("K3",)
    assert str(found.knobs[2]) == (
        "K3 has no number: it drives voices on channels 2 and 5, and sends on one."
    )


def test_the_channel_of_the_master_may_be_given() -> None:
    made = setup({"K1": [("Bass", 3)]})
    found = controller_numbers(made, channel={"Bass": 5, MASTER: 200})
    assert (found.numbers, found.master_number) == ({"K1": 3}, 3)
    assert [each.channel for each in found.knobs] == [5, 200]


def test_numbers_that_are_kept_stay_and_the_others_go_on_in_a_row() -> None:
    given = {"K2": 30, "K5": 16, "K7": 24, "K8": 15, "K11": 14}
    found = controller_numbers(plain(12), previous=given)
    assert {knob: found.numbers[knob] for knob in given} == given
    assert [found.numbers[knob] for knob in found.numbers if knob not in given] == [
        *(17, 18, 19, 20, 21, 22, 23)
    ]
    assert found.master_number == 25


def test_the_first_row_that_has_room_is_taken_else_the_longest() -> None:
    heard = [Listening("Lead", 1, (16, 22))]  # 14 and 15, 17 to 21, and 23 to 31 are left
    for knobs, numbers in ((2, [14, 15]), (3, [17, 18, 19]), (6, [*range(23, 29)])):
        found = controller_numbers(plain(knobs), listening=heard, master=False)
        assert [*found.numbers.values()] == numbers
    found = controller_numbers(plain(11), listening=heard, master=False)
    assert [*found.numbers.values()] == [17, 18, *range(23, 32)]


def test_no_parameter_is_given_where_a_voice_listens_to_what_carries_it() -> None:
    asked = {"allowed": [14], "parameters": [(1, 1), (1, 2)], "master": False}
    for number in (6, 38, 98, 99):
        heard = [Listening("Lead", 1, (number,)), Listening("Lead", 2, (7,))]
        found = controller_numbers(plain(3), listening=heard, **asked)  # type: ignore[arg-type]
        assert found.left == ("K2", "K3")
        assert found.room[0].shut_by == ("Lead",)
        assert "NRPN" not in str(found.room[0])
        elsewhere = controller_numbers(plain(3), channel=2, listening=heard, **asked)  # type: ignore[arg-type]
        assert elsewhere.left == ()
    spared = controller_numbers(plain(3), listening=[Listening("Lead", 1, (96, 101))], **asked)  # type: ignore[arg-type]
    assert [each.sent.parameter for each in spared.knobs] == [None, (1, 1), (1, 2)]


def test_hundreds_of_knobs_get_what_there_is() -> None:
    found = controller_numbers(plain(300), parameters=[(0, each) for each in range(60)])
    assert len(found.numbers) == len(ASSIGNABLE) - 1
    assert len(found.left) == 301 - len(ASSIGNABLE) - 60


def test_an_earlier_answer_without_a_number_counts_as_known() -> None:
    nothing = ControllerNumbers("Earlier", (KnobNumber("K1", (1,), Sent()),), (), (), ())
    found = controller_numbers(plain(1), previous=nothing, master=False)
    assert found.knobs[0].changed
    assert "it was sent on nothing before" in str(found.knobs[0])


def _bytes(sent: Sent) -> list[int]:
    return [number for number in (sent.number, sent.low) if number is not None]
