"""The growth studies give a row for each run, the gap, and the exponents."""

from __future__ import annotations

from pathlib import Path

import attrs
import pytest

from benchmarks import growth, growth_report
from benchmarks.growth import GROWN_COLUMNS, STUDIES, Grown, gap, grow, points, records
from benchmarks.peers.rows import Row
from knobpack.checker import TIERS
from tests.test_benchmarks_results import OUR_ROW


def tiny(study: str, limit: float, *, full: bool = False) -> list[growth.Point]:
    """Points that take next to no time."""
    assert not full
    shortest = 1.0 if study == "time" else limit
    return [growth.Point(3, 6, 2, shortest), growth.Point(3, 9, 2, limit)]


@pytest.mark.parametrize("study", STUDIES)
def test_a_full_study_goes_further_than_a_small_one(study: str) -> None:
    small, full = points(study, 8.0), points(study, 8.0, full=True)
    assert len(full) > len(small) > 2
    axis = {"size": "destinations", "time": "limit"}.get(study, study)
    for through in (small, full):
        along = [getattr(point, axis) for point in through]
        assert along == sorted(set(along))
        assert all(point.limit <= 8.0 for point in through)


def test_every_run_is_a_row(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(growth, "points", tiny)
    told: list[Grown] = []
    found = grow(("size",), seeds=1, limit=20.0, told=told.append)
    assert told == found
    assert [each.row.destinations for each in found] == [6, 9]
    assert all(each.row.valid and each.gap == 0 and each.row.proven == len(TIERS) for each in found)
    for record in records(found):
        assert tuple(record) == GROWN_COLUMNS
        assert record["study"] == "size"
        assert record["families"] == 2


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, 0.0),
        ({"proven": 3, "bounds": (0, 0, 0, 450)}, 0.1),
        ({"proven": 0, "bounds": (0,)}, 1.0),
        ({"proven": 1, "bounds": (0, 0, 0, 450), "values": (0, 9, 0, 500, 0, 0)}, 1.0),
        ({"proven": 2, "bounds": (0, 0, 0), "values": (0, 0, 0, 500, 0, 0)}, 1.0),
        ({"proven": 0, "bounds": (), "values": (), "valid": False}, 1.0),
        ({"proven": 3, "bounds": (0, 0, 0, 0), "values": (0, 0, 0, 0, 0, 9)}, 0.0),
    ],
)
def test_the_gap_is_of_the_first_four_tiers(changes: dict[str, object], expected: float) -> None:
    row: Row = attrs.evolve(OUR_ROW, **changes)  # type: ignore[arg-type]
    assert gap(row) == pytest.approx(expected)


def test_the_report_fits_exponents_to_runs_that_ended() -> None:
    rows = [
        attrs.evolve(OUR_ROW, destinations=count, seconds=0.01 * count**2, mebibytes=50.0 + count)
        for count in (10, 20)
    ]
    cut = attrs.evolve(OUR_ROW, destinations=40, seconds=10.5)
    grown = [Grown("destinations", 3, 0.0, row) for row in (*rows, cut)]
    text = "\n".join(growth_report.report(records(grown)))
    assert "seconds grow with destinations to the power 2.00 (2 runs, 1 more were cut off)" in text
    assert "mebibytes grow with destinations to the power" in text
    timed = [
        Grown("time", 3, share, attrs.evolve(OUR_ROW, limit=limit))
        for share, limit in ((0.5, 1.0), (0.25, 2.0))
    ]
    text = "\n".join(growth_report.report(records(timed)))
    assert "gap  50.000%" in text
    assert "power" not in text


def test_the_command_writes_its_table(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(growth, "points", tiny)
    path = tmp_path / "growth.csv"
    status = growth.main(["--studies", "time", "--seeds", "1", "--limit", "20", "--out", str(path)])
    assert status == 0
    assert f"table: {path}" in capsys.readouterr().out
    assert len(path.read_text(encoding="utf-8").splitlines()) == 3


def test_unknown_studies_are_refused() -> None:
    with pytest.raises(SystemExit) as refused:
        growth.main(["--studies", "weather"])
    assert refused.value.code == 2
