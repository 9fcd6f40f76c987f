"""Names that a file holds, as it was read: those of the words that are made of it."""

from __future__ import annotations

import pytest

from benchmarks.generator import varied
from knobpack import Request, Setup, Surface, files
from knobpack.allocator import allocate_request
from knobpack.command.held_names import names_held
from knobpack.errors import InputError
from knobpack.files import to_plain
from knobpack.present.demo import demo_request, demo_setups
from tests.command.samples_of_command import SMALL

HELD: list[Request | Setup] = [
    demo_request(),
    *demo_setups().values(),
    *(varied(seed, 6) for seed in range(8)),
    allocate_request(SMALL).setup("Small"),
]


@pytest.mark.parametrize("word", HELD)
def test_the_names_in_a_file_are_those_of_its_words(word: Request | Setup) -> None:
    held = names_held(to_plain(word))
    assert held["knobs"] == list(word.surface.knob_names)
    assert held["voices"] == [voice.name for voice in word.voices]
    assert held["groups"] == [group.name for group in word.groups]
    assert held["snapshots"] == [snapshot.name for snapshot in word.snapshots or ()]
    full = [voice.full_name(each) for voice in word.voices for each in voice.destinations]
    assert held["destinations"] == full
    assert held["sources"] == [voice.source for voice in word.voices if voice.source is not None]


def test_an_allocation_holds_the_names_of_its_request() -> None:
    assert names_held(to_plain(allocate_request(SMALL))) == names_held(to_plain(SMALL))


def test_a_number_of_knobs_stands_for_their_names() -> None:
    plain = {"knobpack": "request", "version": 1, "surface": {"knobs": 3}}
    assert names_held(plain)["knobs"] == list(Surface.row(3).knob_names)


def test_what_is_no_name_is_left_to_the_words() -> None:
    wrong = to_plain(SMALL)
    wrong["voices"][0]["name"] = 3
    assert len(names_held(wrong)["voices"]) == len(SMALL.voices) - 1
    with pytest.raises(InputError, match="a name is text"):
        files.from_plain(wrong)
    assert not any(names_held({"knobpack": "allocation"}).values())
