"""Controller numbers of setups: who gets which, and what happens when they run out."""

from __future__ import annotations

from knobpack.midi import Listening, Room, Sent, controller_numbers
from knobpack.midi.control_change_table import ASSIGNABLE
from tests.midi.numbered_setups import earlier, plain, setup


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


def test_a_knob_that_drives_nothing_gets_no_number() -> None:
    found = controller_numbers(setup({"K2": [("Pad", 3)], "K5": [("Pad", 3)]}, panel=8))
    assert list(found.numbers) == ["K2", "K5"]
    none = controller_numbers(setup({}, panel=3), master=False)
    assert none.knobs == ()


def test_beyond_30_pairs_fine_knobs_send_7_bits_and_it_is_said() -> None:
    found = controller_numbers(plain(33, bits=14), fine=True, master=False)
    coarse = [each for each in found.knobs if each.sent.bits == 7]
    # 1 to 5 and 7 to 31 are the 30 assignable high halves.
    assert len(coarse) == 3
    assert all("7 bits are sent and not 14" in str(each) for each in coarse)


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
    assert "let a knob really send 18, though voices listen there" in text
    assert "NRPN" in text
    assert "another channel" in text
    # Each way gives the room that it says it does.
    wider = controller_numbers(made, allowed=[14, 15, 16, 17, 18, 102, 104], master=False)
    assert wider.left == ()


def test_numbers_that_are_kept_stay_and_the_others_go_on_in_a_row() -> None:
    given = {"K2": 30, "K5": 16, "K7": 24, "K8": 15, "K11": 14}
    before = earlier({knob: Sent(number) for knob, number in given.items()})
    found = controller_numbers(plain(12), previous=before)
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


def test_hundreds_of_knobs_get_what_there_is() -> None:
    found = controller_numbers(plain(300), parameters=[(0, each) for each in range(60)])
    assert len(found.numbers) == len(ASSIGNABLE) - 1
    assert len(found.left) == 301 - len(ASSIGNABLE) - 60
