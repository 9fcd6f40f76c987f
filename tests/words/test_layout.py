"""Route, layout and setup."""

import re
from typing import Any

import attrs
import pytest

from knobpack.errors import InputError
from knobpack.words import (
    Group,
    KnobLabel,
    KnobSending,
    KnobTravel,
    Layout,
    Route,
    Setup,
    Snapshot,
    Span,
    Surface,
    Travel,
    Voice,
    VoiceLayer,
)

SETUP = Setup("Stage", Surface.row(2))


def test_a_layout_from_what_each_knob_drives() -> None:
    layout = Layout.of({"K2": ["Pad/cutoff", "Bass/cutoff"], "K1": [], "K3": ("Pad/level",)})
    assert layout.routes == (
        Route("Pad/cutoff", "K2"),
        Route("Bass/cutoff", "K2"),
        Route("Pad/level", "K3"),
    )
    assert layout == Layout(layout.routes)


@pytest.mark.parametrize(
    ("field", "twice", "where"),
    [
        ("routes", (Route("Pad/cutoff", "K1"), Route("Pad/cutoff", "K2")), "routes[1].destination"),
        (
            "travels",
            (KnobTravel("K1", Travel(0, 1)), KnobTravel("K1", Travel(1, 0))),
            "travels[1].knob",
        ),
        ("layers", (VoiceLayer("Pad", 1), VoiceLayer("Pad", 2)), "layers[1].voice"),
    ],
)
def test_a_layout_says_each_thing_once(field: str, twice: Any, where: str) -> None:
    with pytest.raises(InputError, match="given twice") as caught:
        Layout(**{field: twice})
    assert caught.value.field == f"Layout.{where}"


def test_two_voices_at_one_layer_can_be_written_down() -> None:
    # It is not valid, but it may be what was found; the plain checker says so.
    assert len(Layout(layers=(VoiceLayer("Pad", 1), VoiceLayer("Bass", 1))).layers) == 2


@pytest.mark.parametrize(
    ("build", "field"),
    [
        (lambda: Route("Pad/cutoff", "a/b"), "Route.knob"),
        (lambda: Route(None, "K1"), "Route.destination"),  # type: ignore[arg-type]
        (lambda: KnobTravel("K1", (0, 1)), "KnobTravel.travel"),  # type: ignore[arg-type]
        (lambda: KnobTravel("", Travel(0, 1)), "KnobTravel.knob"),
        (lambda: VoiceLayer("Pad", 0), "VoiceLayer.layer"),
        (lambda: VoiceLayer("a/b", 1), "VoiceLayer.voice"),
        (lambda: Setup("", SETUP.surface), "Setup.name"),
        (lambda: Setup("Stage", 8), "Setup.surface"),  # type: ignore[arg-type]
        (lambda: Setup("Stage", SETUP.surface, (Group("low", ("a",)),)), "Setup.voices[0]"),  # type: ignore[arg-type]
    ],
)
def test_a_field_refuses_what_it_cannot_hold(build: Any, field: str) -> None:
    with pytest.raises(InputError) as caught:
        build()
    assert caught.value.field == field


def test_a_setup_may_be_faulty() -> None:
    # Nothing that it names has to be there, and a destination may be driven twice.
    routes = (Route("Nobody/level", "K9"), Route("Nobody/level", "K8"))
    found = attrs.evolve(SETUP, routes=routes, snapshots=(Snapshot("all", ("Nobody",)),))
    assert found.routes == routes
    with pytest.raises(InputError, match="given twice") as caught:
        _ = found.layout
    assert caught.value.field == "Layout.routes[1].destination"


@pytest.mark.parametrize(
    ("field", "more", "where"),
    [
        ("voices", (Voice("Pad"), Voice("Pad")), "voices[1].name"),
        ("groups", (Group("Pad", ("Pad",)),), "groups[0].name"),
        ("groups", (Group("low", ("Pad",)), Group("low", ("Bass",))), "groups[1].name"),
        ("snapshots", (Snapshot("all"), Snapshot("all")), "snapshots[1].name"),
        ("travels", (KnobTravel("K1", Travel(0, 1)),) * 2, "travels[1].knob"),
        ("labels", (KnobLabel("K1", "a"), KnobLabel("K1", "b")), "labels[1].knob"),
        ("sending", (KnobSending("K1", 1), KnobSending("K1", 2)), "sending[1].knob"),
    ],
)
def test_a_setup_has_names_of_their_own(field: str, more: Any, where: str) -> None:
    whole = attrs.evolve(SETUP, voices=(Voice("Pad"),))
    with pytest.raises(InputError, match="given twice") as caught:
        attrs.evolve(whole, **{field: more})
    assert caught.value.field == f"Setup.{where}"


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
    assert plain.sentences[1] == "K1, 0 to 127 (full): drives Pad/level."
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
        "K1 'Pad lev', 0 to 127 (full): drives Pad/level; controller 17, pick-up.",
        "K2, 0 to 127 (full): drives nothing.",
        "Voice 'Pad': channel 2, keys 36 to 60.",
        "Snapshot 'all' moves Pad; Bass silent; K2 idle.",
    )
    # Columns in which nothing stands are left out.
    heads = re.findall(r"<th[^>]*>([^<]*)</th>", full._repr_html_())
    assert {"label", "sends", "played", "silent", "idle"} <= set(heads)
    heads = re.findall(r"<th[^>]*>([^<]*)</th>", plain._repr_html_())
    assert not {"label", "sends", "played", "silent", "idle"} & set(heads)
