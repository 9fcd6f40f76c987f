"""Names: what a player typed is found, or refused with what comes close to it."""

from __future__ import annotations

import difflib
from pathlib import Path

import attrs
import pytest

from knobpack import files
from knobpack.allocator import allocate_request
from knobpack.command.main import main
from knobpack.command.names import RequestPart, part
from knobpack.errors import InputError
from knobpack.present.demo import demo_request
from knobpack.words import Apart, Barred, Destination, Knob, Request, Snapshot, Surface, Voice
from knobpack.words.edits import without_knob, without_rule, without_snapshot, without_voice
from knobpack.words.fields import check_named
from knobpack.words.names import close
from tests.command.samples_of_command import SMALL

DEMO = demo_request()
PAIR = Apart(("2",), ("Pad",))
SAME = Request(
    Surface((Knob("2"), Knob("Pad", column=2), Knob("rule 2", column=3))),
    (Voice("2", (Destination("x"),)), Voice("Pad", (Destination("x"), Destination("y")))),
    snapshots=(Snapshot("Pad", ("Pad",)), Snapshot("alone", ())),
    rules=(PAIR, attrs.evolve(PAIR, weight=9), Barred(("Pad/x",), ("2",)), PAIR),
)
"""Everything is called the same."""


def found(name: str, request: Request = SAME) -> RequestPart:
    return part("without", name, request)


@pytest.mark.parametrize(
    ("name", "less"),
    [
        ("K3", without_knob(DEMO, "K3")),
        ("Oboe", without_voice(DEMO, "Oboe")),
        ("Top alone", without_snapshot(DEMO, "Top alone")),
        ("apart(Oboe/level; Strings/level)", without_rule(DEMO, DEMO.rules[0])),
        ("2", without_rule(DEMO, DEMO.rules[1])),
        ("rule 3", without_rule(DEMO, DEMO.rules[2])),
        ("knob K3", without_knob(DEMO, "K3")),
        ("voice Oboe", without_voice(DEMO, "Oboe")),
    ],
)
def test_a_part_is_found_by_its_name(name: str, less: Request) -> None:
    assert found(name, DEMO).without(DEMO) == less


def test_a_destination_is_a_part_too() -> None:
    less = found("Bells/octave", DEMO).without(DEMO)
    assert set(DEMO.by_full_name) - set(less.by_full_name) == {"Bells/octave"}
    assert found("destination Bells/octave", DEMO).without(DEMO) == less


@pytest.mark.parametrize(
    ("name", "ways"),
    [
        ("2", "'knob 2', 'voice 2' and 'rule 2'"),
        ("Pad", "'knob Pad', 'voice Pad' and 'snapshot Pad'"),
        ("apart(2; Pad)", "'rule 1' and 'rule 2'"),
        ("rule apart(2; Pad)", "'rule 1' and 'rule 2'"),
    ],
)
def test_what_could_be_more_than_one_is_refused_and_each_way_out_works(
    name: str, ways: str
) -> None:
    with pytest.raises(InputError, match="could be more than one") as caught:
        found(name)
    assert caught.value.right.endswith(f"say which: {ways}")
    parts = [found(way) for way in ways.replace(" and ", ", ").strip("'").split("', '")]
    assert len({(each.word, each.subject) for each in parts}) == len(parts)


def test_a_word_before_a_name_means_that_word() -> None:
    # The knob called 'rule 2' can be had too.
    assert found("rule 2").subject == attrs.evolve(PAIR, weight=9)
    assert found("knob rule 2").subject == "rule 2"
    assert found("rule 2").told == "the rule apart(2; Pad), weight 9"
    # A rule laid down twice is one.
    assert found("rule 1") == found("rule 4")
    assert PAIR not in found("rule 4").without(SAME).rules


@pytest.mark.parametrize("name", ["0", "5", "rule 5", "rule", "rule  1", "pad", "", "/", "K9"])
def test_what_is_not_there_is_refused(name: str) -> None:
    with pytest.raises(InputError, match="name a knob, voice, destination, snapshot or rule"):
        found(name)


def test_what_comes_close_to_nothing_is_shown_what_names_look_like() -> None:
    with pytest.raises(InputError) as caught:
        found("zzzz", DEMO)
    voice, name = DEMO.voices[0].name, next(iter(DEMO.by_full_name))
    assert caught.value.right.endswith(f"of the request, such as K1, {voice} and {name}")


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("Strings/levl", "Strings/level"),
        ("STRINGS/LEVEL", "Strings/level"),
        ("octave", "Bells/octave"),
        ("Obeo/cutoff", "Oboe/cutoff"),
        ("Strings", "Strings/cutoff"),
    ],
)
def test_a_wrong_name_is_refused_with_what_comes_close(typed: str, first: str) -> None:
    with pytest.raises(InputError) as caught:
        check_named("why", typed, DEMO.by_full_name, "name a destination")
    assert caught.value.field == "why"
    assert caught.value.value == typed
    assert caught.value.right.startswith(f"name a destination; close to it: {first}")


def test_where_nothing_comes_close_some_that_are_there_are_named() -> None:
    with pytest.raises(InputError) as caught:
        check_named("why", "xyzzy", DEMO.by_full_name, "name a destination")
    first, second, third, *_ = DEMO.by_full_name
    assert caught.value.right == f"name a destination, such as {first}, {second} and {third}"
    with pytest.raises(InputError) as caught:
        check_named("--free", "xyzzy", (), "name a voice")
    assert caught.value.right == "name a voice"
    assert close("", ["a", "b"]) == []
    assert check_named("why", "Strings/level", DEMO.by_full_name, "") == "Strings/level"


def test_names_that_differ_in_letter_case_are_both_offered() -> None:
    assert close("PAD", ["pad", "Pad", "bass"]) == ["pad", "Pad"]


def test_few_letters_are_compared_however_many_and_long_names_are(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    pairs: list[int] = []
    plain = difflib.get_close_matches

    def counted(wanted: str, names: list[str], most: int) -> list[str]:
        pairs.append(len(wanted) * sum(map(len, names)))
        return plain(wanted, names, most)

    monkeypatch.setattr(difflib, "get_close_matches", counted)
    names = [f"{number:05} {'xy' * 100}" for number in range(10_000)]
    assert close("y" * 100_000, names) == []
    assert names[0] in close(names[0] + "z", names)
    assert len(pairs) == 2
    assert max(pairs) <= 1_000_000


@pytest.mark.parametrize("value", ["Brass", "K99", "everthing", "17", "only Bss", "voice Bsas"])
@pytest.mark.parametrize("firm", [True, False])
def test_a_part_that_names_nothing_is_refused_as_the_request_would(
    value: str, firm: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    request = attrs.evolve(SMALL, snapshots=SMALL.played if firm else None)
    files.save(tmp_path / "small.json", request)
    assert main(["ask", str(tmp_path / "small.json"), "without", value]) == 2
    with pytest.raises(InputError) as refused:
        part("without", value, request)
    assert capsys.readouterr().err == f"knobpack: {refused.value}\n"


def test_a_name_that_no_table_holds_is_refused_with_what_comes_close(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "small.csv"
    files.save(path, allocate_request(SMALL).setup("Small"))
    name = next(iter(SMALL.by_full_name))
    assert main(["ask", str(path), "why", f"{name}x"]) == 2
    assert f"close to it: {name}" in capsys.readouterr().err
    knob = SMALL.surface.knob_names[0]
    assert main(["edit", str(path), "out-of-use", f"{knob}9"]) == 2
    assert f"'{knob}9' will not do; name a knob" in capsys.readouterr().err
