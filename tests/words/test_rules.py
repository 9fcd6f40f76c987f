"""The rules a caller can lay down."""

from typing import Any

import attrs
import pytest

from knobpack.errors import InputError
from knobpack.words import Alone, Apart, Barred, Fixed, Together
from knobpack.words.rules import RULES

RULES_IN_WORDS = [
    (Together(("Pad", "Bass/level")), "together(Pad, Bass/level)"),
    (Apart(("Pad",), ("Bass", "Lead")), "apart(Pad; Bass, Lead)"),
    (Alone(("Pad/cutoff",)), "alone(Pad/cutoff)"),
    (Fixed(("Pad/cutoff",), "K3"), "fixed(Pad/cutoff; K3)"),
    (Barred(("Pad",), ("K1", "K2")), "barred(Pad; K1, K2)"),
]


def test_every_rule_is_tried_here() -> None:
    assert tuple(type(rule) for rule, _ in RULES_IN_WORDS) == RULES


@pytest.mark.parametrize(("rule", "words"), RULES_IN_WORDS)
def test_a_rule_in_words(rule: Any, words: str) -> None:
    assert str(rule) == words


@pytest.mark.parametrize("rule", [rule for rule, _ in RULES_IN_WORDS])
def test_every_list_of_a_rule_names_something_once(rule: Any) -> None:
    kind = type(rule).__name__
    lists = [field.name for field in attrs.fields(type(rule)) if field.name[-1] == "s"]
    lists += [field for field in ("first", "second") if hasattr(rule, field)]
    assert lists
    for field in lists:
        with pytest.raises(InputError, match="1 or more names") as caught:
            attrs.evolve(rule, **{field: ()})
        assert caught.value.field == f"{kind}.{field}"
        with pytest.raises(InputError, match="twice") as caught:
            attrs.evolve(rule, **{field: ("a", "b", "b")})
        assert caught.value.field == f"{kind}.{field}[2]"
        with pytest.raises(InputError) as caught:
            attrs.evolve(rule, **{field: ("a", 3)})
        assert caught.value.field == f"{kind}.{field}[1]"


def test_a_knob_has_no_full_name() -> None:
    with pytest.raises(InputError, match="holds no '/'") as caught:
        Fixed(("Pad",), "Pad/K1")
    assert caught.value.field == "Fixed.knob"
    with pytest.raises(InputError, match="holds no '/'") as caught:
        Barred(("Pad",), ("K1", "Pad/K1"))
    assert caught.value.field == "Barred.knobs[1]"


@pytest.mark.parametrize("kind", [Together, Alone])
def test_names_that_do_not_stand_in_one_list_are_told_where_they_belong(kind: Any) -> None:
    with pytest.raises(InputError, match="give one list") as caught:
        kind("Pad", "Bass")
    assert (caught.value.field, caught.value.value) == (f"{kind.__name__}.weight", "Bass")
