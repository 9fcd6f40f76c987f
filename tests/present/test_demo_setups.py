"""The demo's setups: they hold what they are there to show, and are written all or none."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest

from knobpack.auditing import causes
from knobpack.auditing.audit import audit
from knobpack.combination.combiner import combine
from knobpack.combination.taken_away import without_source
from knobpack.command.main import main
from knobpack.files import dumps, load_setup
from knobpack.present.demo import SETUPS, demo_setups
from knobpack.words import Travel
from tests.present.samples_of_setups import BASE, BASS, LATE, ORGAN, combined


def test_the_files_are_as_they_would_be_written() -> None:
    folder = resources.files("knobpack.present").joinpath("demo_setups")
    assert sorted(each.name for each in folder.iterdir()) == sorted(SETUPS)
    for name, setup in demo_setups().items():
        assert folder.joinpath(name).read_text("utf-8") == dumps(setup)


def test_the_base_uses_two_of_eight_knobs_and_has_no_fault() -> None:
    found = audit(BASE)
    assert found.clean
    assert (found.live, len(found.by_knob)) == (("K1", "K2"), 8)


def test_the_sources_have_faults_of_several_sorts() -> None:
    why = {use.knob: use.why_dead for use in audit(ORGAN).by_knob}
    # A knob that was set to nothing, one that a slip leads nowhere, one that has but its label.
    assert why["Swell"] == (causes.EMPTY_TRAVEL,)
    assert why["Strings"] == (causes.MISSING_DESTINATION,)
    assert why["Brass"] == (causes.NO_ROUTE,)
    assert audit(ORGAN).live == ("Brightness", "Wash", "Flute")
    found = {(each.severity, each.cause) for each in audit(ORGAN).findings}
    assert ("wrong", causes.TORN) in found
    assert {each.cause for each in audit(BASS).findings} == {
        *(causes.IDENTICAL, causes.NO_ROUTE, causes.UNREACHED)
    }
    assert audit(LATE).clean


def test_the_result_has_none_and_all_that_worked_is_on_a_knob() -> None:
    found = combined(ORGAN, BASS)
    assert audit(found.setup).clean
    assert found.allocation.proven
    assert all(each.new_knob for each in found.carried)
    assert not found.allocation.joined
    assert not found.allocation.parted
    assert found.setup.routes[:2] == BASE.routes
    assert found.sentences[0] == (
        "10 of 11 came; there is no Strings/drve (the knob Strings leads to it), close to it: "
        "Strings/drive."
    )
    names = [snapshot.name for snapshot in found.setup.snapshots]
    assert names == ["all", "Evening set", "Organ set", "Bass set", "organ", "bass"]
    # At 10 bits half a travel ends at 512: the min-center-max rule of M2-115-U 1.0.2, 3.3.1.
    assert (ORGAN.surface.bits, BASE.surface.bits) == (7, 10)
    halves = {e.full_name: e.wanted for e in found.carried if e.old_travel == Travel(0, 64)}
    assert set(halves.values()) == {Travel(0, 512)}
    assert len(halves) == 3


def test_the_late_one_has_the_knob_that_was_left_and_moves_nothing() -> None:
    found = combined(ORGAN, BASS).setup
    late = combine(found, LATE)
    assert {each.new_knob for each in late.carried} == {"K8"}
    assert late.setup.routes[: len(found.routes)] == found.routes
    assert without_source(late.setup, LATE.name) == found


def test_they_are_written_to_a_folder_that_is_there_or_not(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for folder in (tmp_path, tmp_path / "new"):
        assert main(["demo", str(folder), "--quiet"]) == 0
        assert {name: load_setup(folder / name) for name in SETUPS} == demo_setups()
    assert capsys.readouterr() == ("", "")


@pytest.mark.parametrize("name", SETUPS)
def test_what_a_player_made_of_them_is_not_lost(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / name).write_text("what a player made of it")
    assert main(["demo", str(tmp_path)]) == 2
    assert [path.name for path in tmp_path.iterdir()] == [name]
    assert (tmp_path / name).read_text() == "what a player made of it"
    assert f"{name}: is there already; give another name" in capsys.readouterr().err
