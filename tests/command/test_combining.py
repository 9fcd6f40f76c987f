"""What can be said of a combination: what to bring, what to free, what to call it."""

from __future__ import annotations

import re
import shutil
from importlib import import_module
from pathlib import Path

import attrs
import pytest

from knobpack.allocation import Allocation
from knobpack.checked_search import allocate_during
from knobpack.combination.combiner import combine, taking
from knobpack.combination.report import Source
from knobpack.command.main import main
from knobpack.files import load_setup, save
from knobpack.limits import Limits, Run
from knobpack.present.combination_text import combination_text
from knobpack.words import Destination, Request, Route, Setup, Snapshot, Surface, Voice
from tests.present.read_answers import fits
from tests.present.samples_of_setups import BASE, BASS, ORGAN, combined, holds, squeezed


def result(paths: list[str], options: list[str], tmp_path: Path) -> Setup:
    target = tmp_path / "result.json"
    assert main(["combine", *paths, *options, "--setup", str(target), "--quiet", "--force"]) == 0
    return load_setup(target)


def test_one_voice_is_brought_alone(paths: list[str], tmp_path: Path) -> None:
    expected = combine(BASE, Source(ORGAN, ("Strings",)), Source(BASS, ()))
    assert result(paths, ["--only", "Strings"], tmp_path) == expected.setup


def test_a_voice_is_told_from_those_named_likewise(paths: list[str], tmp_path: Path) -> None:
    only = ["--only", "Bass set: Piano", "--only", "Flute"]
    expected = combine(BASE, Source(ORGAN, ("Flute",)), Source(BASS, ("Piano",)))
    assert result(paths, only, tmp_path) == expected.setup
    # Here only one source has it.
    base, _, bass = paths
    assert len(result([base, bass], ["--only", "Piano"], tmp_path).voices) == 2


def test_a_name_that_two_sources_have_is_refused(
    paths: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = tmp_path / "other.json"
    save(other, attrs.evolve(BASS, name="Cello set"))
    assert main(["combine", *paths, str(other), "--only", "Piano"]) == 2
    ways = "'Bass set: Piano' and 'Cello set: Piano'"
    assert f"say which: {ways}\n" in capsys.readouterr().err


def test_routes_of_the_base_may_move_and_the_result_has_a_name(
    paths: list[str], tmp_path: Path
) -> None:
    options = ["--free", "Piano/tone", "--free", "Piano", "--name", "Night set"]
    expected = combine(BASE, ORGAN, BASS, free=("Piano",), name="Night set")
    assert result(paths, options, tmp_path) == expected.setup


def full(tmp_path: Path) -> tuple[Setup, Setup, list[str]]:
    """A base without a free knob, which its player plays alone, a source, and their files."""
    base = attrs.evolve(
        BASE,
        surface=Surface.row(3, bits=10),
        routes=(*BASE.routes, Route("Gone/level", "K3")),
        snapshots=(*BASE.snapshots, Snapshot("piano", ("Piano",))),
    )
    voice = Voice("Brass", (Destination("level", priority=1),), 1)
    source = Setup("Brass set", Surface.row(1), (voice,), routes=(Route("Brass/level", "K1"),))
    paths = [str(tmp_path / name) for name in ("full.json", "brass.json")]
    save(paths[0], base)
    save(paths[1], source)
    return base, source, paths


def test_an_offer_is_taken_by_its_number(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    base, source, paths = full(tmp_path)
    expected = combine(base, source)
    assert main(["combine", *paths]) == 5
    out, _ = capsys.readouterr()
    assert out.startswith("Essential, and left out: Brass/level.\n")
    assert "Take offer 1 with --take 1, and so on." in out
    # What each wins and costs stands in lines, after the layout, and how good all are once.
    assert out.index("THE KNOBS NOW") < out.index("\nOFFERS\n") < out.index("Offer 1")
    assert out.count("proven best that way") == 1
    for place, offer in enumerate(expected.offers, 1):
        how, *changes = offer.lines
        told = "\n".join([f"  Offer {place}, {offer.what}: {how}:", *(f"    {c}" for c in changes)])
        assert squeezed(told) in squeezed(out)
        assert "; ".join(each.split(": ", 1)[1] for each in changes) in str(offer)
    for number, offer in enumerate(expected.offers, 1):
        then = taking(expected, offer)
        assert result(paths, ["--take", str(number)], tmp_path) == then.setup
    wrong = str(len(expected.offers) + 1)
    assert main(["combine", *paths, "--take", wrong]) == 2
    assert "give the number of an offer, 1 to " in capsys.readouterr().err


def test_offers_are_taken_one_after_the_other(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    base, source, _ = full(tmp_path)
    other = Voice("Reed", (Destination("level", priority=2),), 1)
    more = Setup("Reed set", Surface.row(1), (other,), routes=(Route("Reed/level", "K1"),))
    files = [str(tmp_path / name) for name in ("b.json", "s.json", "m.json")]
    for setup, path in zip((base, source, more), files, strict=True):
        save(path, setup)
    first = combine(base, source, more)
    # Numbers are of the list that is shown when it is their turn, and so is the hint.
    number, second = next(
        (number, then)
        for number, offer in enumerate(first.offers, 1)
        if (then := taking(first, offer)).offers and then.offers[0] not in first.offers
    )
    main(["combine", *files, "--take", str(number)])
    assert f"Take offer 1 with --take {number} --take 1, and so on." in capsys.readouterr().out
    expected = taking(second, second.offers[0])
    assert result(files, ["--take", str(number), "--take", "1"], tmp_path) == expected.setup
    assert main(["combine", *files, "--take", str(number), "--take", "99"]) == 2
    assert "give the number of an offer, 1 to" in capsys.readouterr().err


def test_where_nothing_is_offered_nothing_can_be_taken(
    paths: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["combine", *paths, "--take", "1"]) == 2
    assert "all has a knob, so there is no offer; leave it out" in capsys.readouterr().err


def test_a_knob_that_does_nothing_is_cleared_on_demand(tmp_path: Path) -> None:
    base, source, paths = full(tmp_path)
    expected = combine(base, source, clear=("K3",))
    assert expected.without_knob == ()
    assert result(paths, ["--clear", "K3"], tmp_path) == expected.setup


def test_a_source_that_is_there_comes_again_on_demand(
    paths: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first = result(paths[:2], [], tmp_path)
    again = tmp_path / "first.json"
    save(again, first)
    assert main(["combine", str(again), paths[1]]) == 2
    told = capsys.readouterr().err
    assert told.startswith(f"knobpack: {paths[1]}: 'Organ set' will not do; Organ, Strings and Fl")
    away = f"knobpack edit {again} away 'Organ set' --in-place"
    assert (
        f"are there already; take it away first ({away}), or bring it once more (--again)" in told
    )
    expected = combine(first, ORGAN, again=True)
    assert result([str(again), paths[1]], ["--again"], tmp_path) == expected.setup


def test_what_no_knob_drove_is_reached_on_demand(paths: list[str], tmp_path: Path) -> None:
    expected = combine(BASE, ORGAN, unreached=True)
    found = result(paths[:2], ["--unreached"], tmp_path)
    assert found == expected.setup
    assert "Organ/level" in {route.destination for route in found.routes}
    assert "Organ/level" not in {r.destination for r in combined(ORGAN).setup.routes}


def test_limits_reach_the_search(
    paths: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[Limits] = []

    def spy(request: Request, run: Run) -> Allocation:
        seen.append(run)
        return allocate_during(request, run)

    monkeypatch.setattr(import_module("knobpack.combination.giving_way"), "allocate_during", spy)
    result(paths[:2], ["--effort", "3", "--time-limit", "20"], tmp_path)
    assert (seen[0].effort, seen[0].time_limit) == (3.0, 20.0)
    assert seen[0].progress is not None
    assert seen[0].cancel is not None
    assert seen[0].cancel() is False


def test_impossible_demands_end_with_3_and_leave_no_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # The player insists on a destination, and no knob of the base may take it.
    base, source = tmp_path / "full.json", tmp_path / "wanted.json"
    shut = attrs.evolve(BASE.surface, reserved=BASE.surface.knob_names)
    save(base, attrs.evolve(BASE, surface=shut))
    voice = Voice("Music box", (Destination("level", must_place=True),), 1)
    save(
        source,
        Setup("Attic set", Surface.row(1), (voice,), routes=(Route("Music box/level", "K1"),)),
    )
    before = sorted(tmp_path.iterdir())
    files = [f"{tmp_path}/{name}" for name in ("s.html", "r.json", "a.json")]
    options = ["--sheet", files[0], "--setup", files[1], "--json", files[2]]
    assert main(["combine", str(base), str(source), *options]) == 3
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("knobpack: no layout meets every demand. These clash:\n")
    assert sorted(tmp_path.iterdir()) == before


def test_what_was_freed_left_out_or_renamed_is_told() -> None:
    crowded = attrs.evolve(
        BASE, surface=attrs.evolve(BASE.surface, reserved=("K3", "K4", "K5", "K6", "K7", "K8"))
    )
    alone = ("Evening set", "Organ set", "Bass set")
    found = combine(crowded, ORGAN, BASS, free="Piano", insist=alone, name="Night set")
    text = combination_text(found)
    assert fits(text)
    assert text.startswith("Essential, and left out: Bass/level.\n\nCOMBINED  Evening set with ")
    out = [each for each in found.carried if each.new_knob is None]
    assert out
    lines = text.split("\n")
    for each in out:
        row = f"{each.voice}/{each.destination} layer {each.old_layer}, {each.old_knob} no knob"
        assert row in {" ".join(line.split()) for line in lines}
    freed = [each for each in found.carried if each.source == "Evening set"]
    assert [each.old_knob == each.new_knob for each in freed].count(True) == 1
    assert text.count("stays there") == 1
    assert holds(text, ["from layer 2 to layer 6", "now called Piano (Bass set)"]) == []


def test_nothing_to_combine_is_told_in_two_lines() -> None:
    text = combination_text(combine(BASE))
    assert text == "COMBINED  Evening set\n  Nothing was to come.\n"


def test_a_snapshot_that_is_dropped_is_not_listed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    piano, brass = (Voice(name, (Destination("level"),), 1) for name in ("Piano", "Brass"))
    files = []
    for name, voice in (("Evening set", piano), ("Brass set", brass)):
        one = Setup(name, Surface.row(1), (voice,), routes=(Route(f"{voice.name}/level", "K1"),))
        files.append(str(tmp_path / f"{name}.json"))
        save(files[-1], one)
    main(["combine", *files])
    said = capsys.readouterr().out
    assert "1 of 1 came" in said
    listed = said.split("SNAPSHOTS")[1].split("CAUTION")[0]
    assert "everything" in listed
    assert "Brass set" not in listed


def test_what_is_essential_and_lost_by_a_slip_comes_first_and_ends_with_5(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lead = Voice("Lead", (Destination("level", priority=1),), 1)
    piano = Voice("Piano", (Destination("level"),), 1)
    base = Setup("Evening set", Surface.row(4), (piano,), routes=(Route("Piano/level", "K1"),))
    source = Setup("Lead set", Surface.row(4), (lead,), routes=(Route("Lead/level", "D"),))
    files = [str(tmp_path / f"{number}.json") for number in range(2)]
    for setup, file in zip((base, source), files, strict=True):
        save(file, setup)
    assert main(["combine", *files]) == 5
    out = capsys.readouterr().out
    assert out.startswith("Essential, and left out: Lead/level.\n")
    assert out.count("Essential, and left out") == 1


def test_what_leaves_out_something_essential_is_written_only_where_that_was_asked_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, _, paths = full(tmp_path)
    before, new = Path(paths[0]).read_bytes(), tmp_path / "new"
    inner = (Destination("level", priority=1), Destination("tone"))
    moves = (Snapshot(name, (name,)) for name in ("Organ", "Reed"))
    routes = (Route("Organ/level", "K1"), Route("Reed/level", "K2"))
    voices = (Voice("Organ", inner, 1), Voice("Reed", inner, 2))
    duo = Setup("Duo", Surface.row(2), voices, routes=routes, snapshots=tuple(moves))
    home, spare = str(tmp_path / "duo.json"), str(tmp_path / "spare.json")
    save(home, duo)
    save(spare, attrs.evolve(duo, name="Spare", surface=Surface.row(1)))
    for asked, where in (
        (["combine", *paths], ["--in-place", "--sheet", f"{new}.txt"]),
        (["combine", *paths], ["--setup", f"{new}.json"]),
        (["edit", home, "out-of-use", "K1"], ["--sheet", f"{new}.md"]),
        (["edit", home, "out-of-use", "K1"], ["--table", f"{new}.csv", "--json", f"{new}.json"]),
        (["move", home, spare], ["--setup", f"{new}.json"]),
        (["songs", home, "--panel", spare], ["--into", str(new)]),
    ):
        assert main([*asked, *where]) == 2
        captured = capsys.readouterr()
        assert re.search("left out|loses", captured.out)
        assert re.search(r"essential and left out, so nothing is written; .*--force", captured.err)
        assert Path(paths[0]).read_bytes() == before
        assert not [*tmp_path.glob("new*")]
        # Asked for, and for what is only looked at, it is told and in the exit status alone.
        assert main([*asked, *where, "--force", "--quiet"]) == 5
        for path in tmp_path.glob("new*"):
            (shutil.rmtree if path.is_dir() else Path.unlink)(path)
        Path(paths[0]).write_bytes(before)
        assert main([*asked, "--json", f"{new}.json", "--quiet"]) == 5
        Path(f"{new}.json").unlink()
    assert main(["move", home, spare, "--sheet", "-"]) == 5
    assert capsys.readouterr().err.startswith("Essential, and left out: ")
