"""What a setup remembers: what edits agreed on, broken knobs, and its home."""

import attrs
import pytest

from knobpack.errors import InputError
from knobpack.files import dumps, loads
from knobpack.words import (
    Alone,
    BrokenKnob,
    Fixed,
    Home,
    Setup,
    SetupPart,
    Surface,
    Together,
)
from tests.oracles.replay import in_order

STAGE = Setup("Stage", Surface.row(2))
AWAY = attrs.evolve(
    STAGE,
    agreed=(Together(("Organ/level", "Organ/drive")), Fixed(("Bass",), "K1")),
    broken=(BrokenKnob("K2"),),
    home=Home(attrs.evolve(STAGE, surface=Surface.row(8, bits=10)), STAGE),
)


def test_what_a_setup_remembers_is_written_and_read_back() -> None:
    assert loads(dumps(AWAY)) == AWAY


def test_what_a_broken_knob_remembered_in_earlier_versions_is_passed_over() -> None:
    new = '"knob": "K2"'
    old = f'{new}, "before": {{"routes": []}}, "gave_way": [], "after": {{}}'
    text = dumps(AWAY)
    assert new in text
    assert loads(text.replace(new, old, 1)) == AWAY


def test_what_it_remembers_is_no_part_of_what_is_programmed() -> None:
    assert in_order(AWAY) == in_order(STAGE)
    assert attrs.evolve(AWAY, name="Other") != attrs.evolve(STAGE, name="Other")


def test_a_past_edit_remembers_whatever_an_edit_can_change() -> None:
    kept = {"surface", "home", "edits"}  # an edit is of one panel, and stands beside other edits
    assert set(attrs.fields_dict(SetupPart)) == set(attrs.fields_dict(Setup)) - kept


def test_what_is_agreed_is_required() -> None:
    with pytest.raises(InputError, match="leave the weight out") as caught:
        attrs.evolve(STAGE, agreed=(Alone(("Organ",)), Alone(("Bass",), weight=5)))
    assert caught.value.field == "Setup.agreed[1].weight"


def test_a_home_has_no_home_of_its_own() -> None:
    with pytest.raises(InputError, match="leave its home out") as caught:
        Home(STAGE, AWAY)
    assert caught.value.field == "Home.arrived.home"


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ('"knobpack": "setup",\n      "version": 1', '"version": 1', "home.setup.knobpack"),
        (
            '"knobpack": "setup",\n      "version": 1',
            '"knobpack": "layout",\n      "version": 1',
            "home.setup.knobpack",
        ),
        (
            '"knobpack": "setup",\n      "version": 1',
            '"knobpack": "setup",\n      "version": 2',
            "home.setup.version",
        ),
        ('"bits": 10', '"bits": 99', "home.setup.surface.bits"),
    ],
)
def test_a_wrong_home_in_a_file_is_refused_at_its_place(old: str, new: str, field: str) -> None:
    text = dumps(AWAY)
    assert old in text
    with pytest.raises(InputError) as caught:
        loads(text.replace(old, new, 1))
    assert caught.value.field == field
