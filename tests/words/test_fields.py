"""The fields that the words are made of."""

from collections.abc import Callable
from inspect import signature
from typing import Any

import numpy as np
import pytest

from knobpack import allocate, allocate_many
from knobpack.errors import InputError
from knobpack.show import Show, Song
from knobpack.words import (
    Barred,
    Destination,
    Fixed,
    Group,
    Knob,
    Layout,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Together,
    Voice,
    Weights,
    fields,
)

NAMES = ["K", "Pad 1", "höhe", "№ 7", "音", "x" * 120, "a\u00a0b", "..", "-1", "{}", "'", '"', "\\"]
NO_NAMES: list[Any] = [
    *("", " ", " a", "a ", "a\n", "\ta", "a\u00a0", "x" * 121),
    *("a\x00b", "a\x1bb", "a\x7fb", "a\u0085b"),  # control characters
    *("a\u2028b", "a\u2029b"),  # they break a line
    *("a\u200bb", "a\u202eb", "\ufeffa"),  # unseen, or turning what follows round
    *("\ud800", "a\udfff", "\ue000"),  # half of a surrogate pair; of private use
    *(None, 3, True, b"a", ("a",)),
]


@pytest.mark.parametrize("name", NAMES)
def test_a_name_is_kept_as_it_is(name: str) -> None:
    assert Knob(name).name == name


@pytest.mark.parametrize("name", NO_NAMES)
def test_what_is_no_name_is_refused(name: Any) -> None:
    with pytest.raises(InputError, match="1 to 120 printable characters") as caught:
        Knob(name)
    assert caught.value.field == "Knob.name"
    assert caught.value.value == name
    with pytest.raises(InputError) as caught:
        Group("low", ("Pad", name))
    assert caught.value.field == "Group.members[1]"


def test_a_name_holds_no_slash() -> None:
    # It parts a voice from its destination, outside the voice.
    for build in (Knob, Voice, Destination, Snapshot, lambda name: Group(name, ("a",))):
        with pytest.raises(InputError, match="holds no '/'"):
            build("Pad/cutoff")
    assert Route("Pad/cutoff", "K1").destination == "Pad/cutoff"


@pytest.mark.parametrize("name", ["/", "/a", "a/", "a/b/c", "a /b", "a/ b", "a/" + "x" * 121])
def test_a_full_name_is_two_names(name: str) -> None:
    with pytest.raises(InputError) as caught:
        Route(name, "K1")
    assert caught.value.field == "Route.destination"


def test_each_part_of_a_full_name_may_be_as_long_as_a_name() -> None:
    full = "v" * 120 + "/" + "d" * 120
    assert Route(full, "K1").destination == full


def test_an_error_can_be_told_whatever_the_value() -> None:
    class Silent:
        def __repr__(self) -> str:
            raise RuntimeError

    # Python writes no number of more than 4,300 digits, and raises ValueError of its own.
    value: Any
    for value, told in (
        (10**5000, "a number of more digits"),
        (-(10**5000), "a number of more digits"),
        (Silent(), "a Silent will not do"),
        ("x" * 10_000, "'xxx"),
    ):
        with pytest.raises(InputError, match=f"Knob.row: {told}") as caught:
            Knob("K1", value)
        assert len(str(caught.value)) < 200


def test_one_name_may_be_given_as_text_and_many_in_anything() -> None:
    given: Any = "Pad"
    assert Snapshot("all", given).moves == ("Pad",)
    given = ["Pad", "Bass"]
    assert Snapshot("all", given).moves == ("Pad", "Bass")
    given = (name for name in ("Pad", "Bass"))
    assert Snapshot("all", given).moves == ("Pad", "Bass")
    assert Snapshot("all", {"Pad": 1, "Bass": 2}.keys()).moves == ("Pad", "Bass")


PAD, BASS = Voice("Pad", [Destination("level")]), Voice("Bass")
OF_SETS: dict[str, Callable[[], Any]] = {
    "Voice.destinations": lambda: Voice("Pad", {Destination("level")}),
    "Surface.favoured": lambda: Surface.row(2, favoured=frozenset({"K1", "K2"})),
    "Surface.knobs": lambda: Surface(set(Surface.row(2).knobs)),
    "Snapshot.moves": lambda: Snapshot("all", {"Pad", "Bass"}),
    "Snapshot.moves ": lambda: Snapshot("all", {PAD}),
    "Group.members": lambda: Group("Low", {"Pad"}),
    "Together.names": lambda: Together({"Pad", "Bass"}),
    "Barred.knobs": lambda: Barred("Pad", {"K1"}),
    "Weights.travel": lambda: Weights(travel={1, 2, 3, 4, 5}),
    "Request.voices": lambda: Request(Surface.row(2), {PAD, BASS}),
    "Request.snapshots": lambda: Request(Surface.row(2), [PAD], snapshots={Snapshot("all")}),
    "Request.rules": lambda: Request(Surface.row(2), [PAD], rules={Fixed("Pad", "K1")}),
    "allocate.rules": lambda: allocate([PAD], Surface.row(2), rules={Fixed("Pad", "K1")}),
    "allocate.voices": lambda: allocate({PAD, BASS}, Surface.row(2)),
    "allocate.voices ": lambda: allocate({PAD}, Surface.row(1), keep=Setup("S", Surface.row(1))),
    "allocate.keep": lambda: allocate([PAD], Surface.row(2), keep={Route("Pad/level", "K1")}),
    "allocate_many.requests": lambda: allocate_many({Request(Surface.row(1), [PAD])}),
    "Layout.of.knobs['K1']": lambda: Layout.of({"K1": {"Pad/level"}}),
    "Show.songs": lambda: Show("Friday", {Song("Opener", Request(Surface.row(1), [PAD]))}),
}


@pytest.mark.parametrize("field", OF_SETS)
def test_a_set_is_refused_wherever_it_is_given_for_a_list(field: str) -> None:
    with pytest.raises(InputError) as caught:
        OF_SETS[field]()
    assert caught.value.field == field.strip()
    assert caught.value.right == "a set has no order; give a list"


def test_help_says_what_a_field_takes() -> None:
    taken = {name: str(each.annotation) for name, each in signature(Request).parameters.items()}
    assert taken["voices"] == "Iterable[Voice]"
    assert taken["snapshots"] == "Iterable[Snapshot] | None"
    assert taken["rules"] == "Iterable[Rule]"
    assert str(signature(Snapshot).parameters["moves"].annotation) == "Member | Iterable[Member]"
    assert str(signature(Weights).parameters["travel"].annotation) == "Iterable[SupportsIndex]"


def test_of_what_has_one_the_right_kind_is_pointed_out() -> None:
    setup = Setup("Set", Surface.row(1))
    with pytest.raises(InputError) as caught:
        Request(setup.surface, (), keep=setup)  # type: ignore[arg-type]
    assert (caught.value.field, caught.value.right) == (
        "Request.keep",
        "give a Layout; of a Setup its layout",
    )


def test_a_list_has_an_end() -> None:
    many = tuple(f"v{number}" for number in range(fields.MOST_ITEMS + 1))
    assert Snapshot("all", many[1:]).moves == many[1:]
    with pytest.raises(InputError, match="at most 10000"):
        Snapshot("all", many)


@pytest.mark.parametrize("wrong", [(1, 2, 3, 4), (1, 2, 3, 4, 5, 6), ()])
def test_weights_by_priority_are_one_for_each(wrong: Any) -> None:
    with pytest.raises(InputError, match="give 5 weights, for priority 1 to 5") as caught:
        Weights(travel=wrong)
    assert caught.value.field == "Weights.travel"


@pytest.mark.parametrize("wrong", [(1, 2, 3), (1, 2, 3, 4, 5), ()])
def test_what_is_hidden_has_no_weight_among_what_is_left_out(wrong: Any) -> None:
    with pytest.raises(InputError, match="give 4 weights, for priority 1 to 4") as caught:
        Weights(unplaced=wrong)
    assert caught.value.field == "Weights.unplaced"


@pytest.mark.parametrize("wrong", [-1, 10_001, True, 1.0, "1"])
def test_each_weight_by_priority_is_a_weight(wrong: Any) -> None:
    with pytest.raises(InputError, match="give a whole number") as caught:
        Weights(unplaced=(0, 10_000, wrong, 0))
    assert caught.value.field == "Weights.unplaced[2]"


def test_a_word_may_stand_for_its_name() -> None:
    pad, knob = Voice("Pad", [Destination("level")]), Knob("left")
    low = Group("low", [pad])
    assert low.members == Group("low", pad).members == ("Pad",)
    assert Snapshot("all", [low, pad], silent=pad, idle=[knob]) == Snapshot(
        "all", ("low", "Pad"), silent=("Pad",), idle=("left",)
    )
    assert Route(pad.full_name("level"), knob) == Route("Pad/level", "left")
    wrong: Any = [knob]
    with pytest.raises(InputError, match="give text") as caught:
        Snapshot("all", wrong)
    assert caught.value.field == "Snapshot.moves[0]"


def test_a_destination_does_not_know_its_voice_and_so_not_its_full_name() -> None:
    pad = Voice("Pad", [Destination("level")])
    wrong: Any = pad.destinations
    with pytest.raises(InputError, match=r"voice\.full_name\(destination\)") as caught:
        Snapshot("all", wrong)
    assert caught.value.field == "Snapshot.moves[0]"
    assert pad.full_name(pad.destinations[0]) == pad.full_name("level") == "Pad/level"
    for name in ("levl", Destination("levl")):
        with pytest.raises(InputError, match="close to it: level"):
            pad.full_name(name)


def test_numbers_of_numpy_become_those_of_python() -> None:
    for number in (np.int64(5), np.uint8(5), np.array(5)):
        assert type(Knob("K1", number).row) is int
        assert Weights(travel=[number] * 5).travel == (5,) * 5
        assert len(Surface.row(number).knobs) == 5
    wrong: Any
    for wrong in (np.float64(5), np.bool_(True), np.array([5, 6]), np.array([5])):
        with pytest.raises(InputError, match="give a whole number"):
            Knob("K1", wrong)
