"""Routes, layouts and setups; the rules a caller can lay down."""

from __future__ import annotations

import re
from typing import Any

import attrs
import pytest

from knobpack.errors import InputError
from knobpack.words import (
    Alone,
    Barred,
    Fixed,
    KnobLabel,
    KnobSending,
    KnobTravel,
    Layout,
    Route,
    Setup,
    Snapshot,
    Span,
    Surface,
    Together,
    Travel,
    Voice,
    VoiceLayer,
)
from tests.samples import EACH_RULE

SETUP = Setup("Stage", Surface.row(2))


def test_a_layout_from_what_each_knob_drives() -> None:
    layout = Layout.of({"K2": ["Pad/cutoff", "Bass/cutoff"], "K1": [], "K3": ("Pad/level",)})
    assert layout.routes == (
        Route("Pad/cutoff", "K2"),
        Route("Bass/cutoff", "K2"),
        Route("Pad/level", "K3"),
    )
    assert layout == Layout(layout.routes)


def test_two_voices_at_one_layer_can_be_written_down() -> None:
    # It is not valid, but it may be what was found; the plain checker says so.
    assert len(Layout(layers=(VoiceLayer("Pad", 1), VoiceLayer("Bass", 1))).layers) == 2


def test_a_setup_may_be_faulty() -> None:
    # Nothing that it names has to be there, and a destination may be driven twice.
    routes = (Route("Nobody/level", "K9"), Route("Nobody/level", "K8"))
    found = attrs.evolve(SETUP, routes=routes, snapshots=(Snapshot("all", ("Nobody",)),))
    assert found.routes == routes
    with pytest.raises(InputError, match="given twice") as caught:
        _ = found.layout
    assert caught.value.field == "Layout.routes[1].destination"


def test_the_layout_of_a_setup_has_the_layers_that_are_known() -> None:
    setup = attrs.evolve(
        SETUP,
        voices=(Voice("Pad", layer=2), Voice("Bass"), Voice("Lead", layer=1)),
        routes=(Route("Pad/level", "K1"),),
        travels=(KnobTravel("K1", Travel(0, 63)),),
    )
    assert setup.layout == Layout(
        setup.routes, setup.travels, (VoiceLayer("Pad", 2), VoiceLayer("Lead", 1))
    )


def test_a_setup_tells_what_it_says_besides_and_nothing_where_it_says_nothing() -> None:
    plain = attrs.evolve(
        SETUP,
        voices=(Voice("Pad"),),
        routes=(Route("Pad/level", "K1"),),
        snapshots=(Snapshot("all", ("Pad",)),),
    )
    assert plain.sentences[1] == "K1, 0 to 127 (full): drives Pad/level (not there)."
    assert plain.sentences[-1] == "Snapshot 'all' moves Pad."
    assert "label" not in str(plain)
    full = attrs.evolve(
        plain,
        voices=(Voice("Pad", channel=2, keys=Span(36, 60)),),
        snapshots=(Snapshot("all", ("Pad",), silent=("Bass",), idle=("K2",)),),
        labels=(KnobLabel("K1", "Pad lev"),),
        sending=(KnobSending("K1", 17, turning="pick-up"),),
    )
    assert full.sentences[1:] == (
        "K1 'Pad lev', 0 to 127 (full): drives Pad/level (not there); controller 17, pick-up.",
        "K2, 0 to 127 (full): drives nothing.",
        "Voice 'Pad': channel 2, keys 36 to 60.",
        "Snapshot 'all' moves Pad; Bass silent; K2 idle.",
    )
    # Columns in which nothing stands are left out.
    heads = re.findall(r"<th[^>]*>([^<]*)</th>", full._repr_html_())
    assert {"label", "sends", "played", "silent", "idle"} <= set(heads)
    heads = re.findall(r"<th[^>]*>([^<]*)</th>", plain._repr_html_())
    assert not {"label", "sends", "played", "silent", "idle"} & set(heads)


def test_a_rule_in_words() -> None:
    assert list(map(str, EACH_RULE))[:5] == [  # each is told alike
        "together(Pad, Bass/level)",
        "apart(Pad; Bass, Lead)",
        "alone(Pad, Bass/level)",
        "fixed(Pad, Bass/level; K3)",
        "barred(Pad, Bass/level; K1, K2)",
    ]


@pytest.mark.parametrize("rule", EACH_RULE)
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
