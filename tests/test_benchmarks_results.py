"""Runs in processes of their own, the table, the verdicts and the report."""

from __future__ import annotations

from pathlib import Path

import attrs
import pytest

from benchmarks.peers import OURS, race
from benchmarks.peers.__main__ import main
from benchmarks.peers.compare import compare
from benchmarks.peers.rows import Row
from benchmarks.peers.verdicts import (
    Ratio,
    best_ratios,
    better_than_ours,
    contradictions,
    ratios,
)
from knobpack.checker import TIERS, check
from tests.oracles.strategies import seeded_request

OUR_ROW = Row(
    request="plain 4/18 seed 0",
    kind="plain",
    knobs=4,
    destinations=18,
    seed=0,
    peer=OURS,
    limit=10.0,
    seconds=0.5,
    cpu_seconds=0.5,
    mebibytes=100.0,
    as_good_seconds=0.5,
    equal_seconds=0.5,
    values=(0, 0, 0, 500, 0, 40),
    bounds=(0, 0, 0, 500, 0, 40),
    proven=6,
    valid=True,
    ended=False,
    failed="",
    machine="one",
    versions="none",
)


def of_peer(**changes: object) -> Row:
    """A row of a peer in the same race, as good in tiers 1 to 4, after 5 of 10 seconds."""
    its: dict[str, object] = {
        "peer": "cpsat",
        "seconds": 10.0,
        "cpu_seconds": 5.0,
        "as_good_seconds": 5.0,
        "equal_seconds": None,
        "values": (0, 0, 0, 500, 0, 70),
        "bounds": (0, 0, 0, 450),
        "proven": 3,
    }
    return attrs.evolve(OUR_ROW, **(its | changes))  # type: ignore[arg-type]


# Processes ---------------------------------------------------------------------------------------


def test_a_peer_answers_from_a_process_of_its_own() -> None:
    request = seeded_request(18)
    found = race.run("cpsat", request, 20.0)
    assert (found.ended, found.failed, found.proven) == (False, None, len(TIERS))
    last = found.told[-1]
    assert check(request, last.layout).prices.totals == found.bounds
    assert 0 <= last.seconds <= found.seconds
    assert found.cpu_seconds > 0
    assert found.mebibytes is None or found.mebibytes > 1
    assert [each.seconds for each in found.told] == sorted(each.seconds for each in found.told)


# Side by side ------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def rows() -> list[Row]:
    return compare(sizes=(4,), seeds=1, limits=(1.0,), peers=("colouring", OURS))


def test_rows_come_knobpack_first_and_checked(rows: list[Row]) -> None:
    assert [row.peer for row in rows] == [OURS, "colouring"]
    assert all(row.valid and not row.failed for row in rows)
    assert rows[0].proven == len(TIERS)
    assert rows[0].values == rows[0].bounds
    assert rows[1].values >= rows[0].values
    assert rows[0].as_good_seconds is not None
    assert rows[0].equal_seconds is not None
    assert rows[0].equal_seconds >= rows[0].as_good_seconds
    assert rows[1].equal_seconds is None or rows[1].values == rows[0].values
    assert not contradictions(rows)
    assert not better_than_ours(rows)


def test_the_command_writes_the_table_and_tells_where(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "out.csv"
    arguments = ["--sizes", "4", "--seeds", "1", "--limit", "1", "--kinds", "plain"]
    status = main([*arguments, "--peers", "knobpack", "--out", str(path)])
    assert status == 0
    assert f"table: {path}" in capsys.readouterr().out
    assert len(path.read_text(encoding="utf-8").splitlines()) == 2


# Verdicts ----------------------------------------------------------------------------------------


def test_a_ratio_is_the_time_to_be_as_good_over_ours() -> None:
    race_of = (OUR_ROW.request, OUR_ROW.limit)
    assert ratios([OUR_ROW, of_peer()]) == {(race_of, "cpsat"): Ratio(10.0, False)}
    # Half a core where knobpack had a whole one.
    assert ratios([OUR_ROW, of_peer()], cpu=True) == {(race_of, "cpsat"): Ratio(5.0, False)}


def test_the_limit_stands_for_a_time_that_never_came() -> None:
    never = of_peer(as_good_seconds=None, seconds=2.0, peer="colouring")
    (ratio,) = ratios([OUR_ROW, never]).values()
    assert ratio == Ratio(20.0, True)
    assert str(ratio) == "> 20"
    best = best_ratios([OUR_ROW, of_peer(), never])
    assert list(best.values()) == [("cpsat", Ratio(10.0, False))]
    # To be as good in all tiers is another thing, and takes its own time.
    (ratio,) = ratios([OUR_ROW, of_peer()], every_tier=True).values()
    assert ratio == Ratio(20.0, True)
    (ratio,) = ratios([OUR_ROW, of_peer(equal_seconds=8.0)], every_tier=True).values()
    assert ratio == Ratio(16.0, False)


@pytest.mark.parametrize(
    ("values", "in_four", "in_all"),
    [
        ((0, 0, 0, 500, 0, 70), 0, 0),
        ((0, 0, 0, 500, 0, 39), 0, 1),
        ((0, 0, 0, 499, 9, 99), 1, 1),
        ((1, 0, 0, 0, 0, 0), 0, 0),
        ((0, 0, 1, 0, 0, 0), 0, 0),
    ],
)
def test_better_goes_tier_by_tier(values: tuple[int, ...], in_four: int, in_all: int) -> None:
    pair = [OUR_ROW, of_peer(values=values)]
    assert len(better_than_ours(pair, 4)) == in_four
    assert len(better_than_ours(pair)) == in_all


@pytest.mark.parametrize(
    ("bounds", "refuted"),
    [
        ((0, 0, 0, 500, 0, 70), False),
        ((0, 0, 0, 501), True),
        # Not best in the tier before: what the bound says of sharing does not concern it.
        ((0, 0, 1, 400), True),
        ((), False),
        ((0, 0, 0, 450, 3), False),
    ],
)
def test_a_bound_above_a_layout_is_refuted(bounds: tuple[int, ...], refuted: bool) -> None:
    worse = attrs.evolve(OUR_ROW, values=(0, 0, 0, 500, 0, 70), bounds=(), proven=0)
    assert bool(contradictions([worse, of_peer(bounds=bounds)])) is refuted
