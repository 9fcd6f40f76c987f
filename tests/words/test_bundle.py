"""What knobs of a source carried: bundles, their order, and what is never worth joining."""

from __future__ import annotations

from knobpack.words import Destination, Fixed, Layout, Request, Route, Surface, Together, Voice
from knobpack.words.bundle import Bundle


def organ(source: str | None = "Church") -> Voice:
    return Voice(
        "Organ",
        (
            Destination("level", source_knob="7", source_place=7),
            Destination("tremolo", source_knob="2", source_place=2),
            Destination("drive", source_knob="7", source_place=7),
            Destination("click", source_knob="9"),
            Destination("pan"),
        ),
        source=source,
    )


def asked(*voices: Voice, **more: object) -> Request:
    return Request(Surface.row(4), voices, **more)  # type: ignore[arg-type]


def test_a_bundle_is_what_one_knob_of_a_source_carried() -> None:
    choir = Voice("Choir", (Destination("level", source_knob="7"),), source="Church")
    request = asked(organ(), choir)
    assert request.bundles == (
        Bundle("Church", "7", ("Organ/level", "Organ/drive", "Choir/level"), 7),
    )
    assert str(request.bundles[0]) == "bundle of 7 in Church"


def test_voices_without_a_source_have_bundles_of_their_own() -> None:
    choir = Voice("Choir", (Destination("level", source_knob="7"),))
    request = asked(organ(None), choir)
    assert [each.names for each in request.bundles] == [("Organ/level", "Organ/drive")]
    assert request.bundles[0].origin == "Organ"


def test_one_source_is_laid_out_by_place_then_as_it_is_named() -> None:
    request = asked(organ())
    assert [each.knob for each in request.carried] == ["2", "7", "9"]
    assert request.sequence == (("Organ/tremolo", "Organ/level"), ("Organ/level", "Organ/click"))


def test_two_sources_have_no_sequence_between_them() -> None:
    strings = Voice("Strings", (Destination("level", source_knob="1"),), source="Hall")
    request = asked(organ(), strings)
    assert all("Strings/level" not in pair for pair in request.sequence)


def hidden(*names: str, knob: str | None = None, must: bool = False) -> tuple[Destination, ...]:
    return tuple(Destination(n, priority=5, source_knob=knob, must_place=must) for n in names)


def test_hidden_ones_that_nothing_demands_are_expendable() -> None:
    request = asked(Voice("Organ", (*hidden("click"), Destination("level", priority=4))))
    assert request.expendable == {"Organ/click"}


def test_what_came_with_something_better_is_not_expendable() -> None:
    with_level = (*hidden("click", knob="1"), Destination("level", priority=4, source_knob="1"))
    assert not asked(Voice("Organ", with_level)).expendable
    alone = hidden("click", "hum", knob="1")
    assert asked(Voice("Organ", alone)).expendable == {"Organ/click", "Organ/hum"}


def test_what_is_demanded_is_not_expendable_nor_is_its_bundle() -> None:
    pair = Voice("Organ", hidden("click", "hum", knob="1"))
    assert not asked(pair, rules=(Fixed(("Organ/hum",), "K1"),)).expendable
    assert not asked(pair, keep=Layout((Route("Organ/click", "K1"),))).expendable
    must = Voice("Organ", (*hidden("click", knob="1"), *hidden("hum", knob="1", must=True)))
    assert not asked(must).expendable
    assert asked(pair, rules=(Fixed(("Organ/hum",), "K1", 5),)).expendable


def test_rules_that_bind_demand() -> None:
    loose = Voice("Organ", hidden("click", "hum"))
    assert not asked(loose, rules=(Together(("Organ",)),)).expendable
    assert asked(loose, rules=(Together(("Organ",), 5),)).expendable
