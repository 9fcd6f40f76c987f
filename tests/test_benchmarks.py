"""The benchmarks run, say what they found, and end with a status that tells whether all is well."""

from __future__ import annotations

from pkgutil import resolve_name
from typing import Any

import attrs
import pytest

from benchmarks import ablation, explained, proven
from benchmarks.ablation import STAGES, Found, row
from benchmarks.proven import main
from benchmarks.requests import eight_knobs
from benchmarks.shows import measured, obvious, relearning
from knobpack import Allocation, Request, allocate_request
from knobpack.allocation import Tier
from knobpack.checker import TIERS


def test_three_seeds_are_proven(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--seeds", "3", "--sizes", "8"]) == 0
    printed = capsys.readouterr().out
    assert "8 knobs, 16 to 24 destinations: 3 requests, seeds 0 to 2" in printed
    assert "proven   " + "  ".join(f"{tier} 3" for tier in TIERS) in printed
    assert "not proven" not in printed
    assert "import knobpack: 0." in printed


def test_what_is_not_proven_is_named_and_makes_the_status_1(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def cut_off(request: Request, **limits: Any) -> Allocation:
        found = allocate_request(request, **limits)
        last = Tier("layout", 400, 300, proven=False)
        return attrs.evolve(found, tiers=(*found.tiers[:-1], last))

    monkeypatch.setattr(proven, "allocate_request", cut_off)
    monkeypatch.setattr(proven, "import_seconds", lambda: 0.0)
    assert main(["--seeds", "2", "--sizes", "8"]) == 1
    printed = capsys.readouterr().out
    assert "change 2  layout 0" in printed
    assert "not proven in every tier: seeds 0, 1" in printed
    assert "change 0.000%  layout 25.000%" in printed


def test_an_explanation_is_timed_beside_its_solve() -> None:
    timed = explained.run("seed 0", eight_knobs(0))
    assert timed.explain == pytest.approx(timed.ratio * timed.solve)
    assert timed.explain_solving > 0


def test_whatever_is_switched_off_is_there() -> None:
    for stage, own in STAGES.items():
        for name in own:
            assert resolve_name(f"knobpack.solver.{name}") is not None, stage


def test_what_is_lost_is_counted() -> None:
    proven = Found((0, 1, 0, 500, 0, 7), (0, 1, 0, 500, 0, 7), 1.0)
    open_ = Found((0, 1, 0, 500, 0, 7), (0, 1, 0, 480, 0, 7), 2.0)
    worse = Found((0, 1, 0, 501, 0, 3), (0, 1, 0, 490, 0, 3), 3.0)
    nothing = Found((), (), 4.0)
    found = row("one", "some", [proven, proven, open_, open_], [open_, worse, proven, nothing])
    assert (proven.proofs, open_.proofs, nothing.proofs) == (6, 3, 0)
    assert found.requests == 4
    assert found.proofs == 3 + 3 - 3 + 3
    assert (found.worse, found.better) == (2, 0)
    # Of the second the bounds are compared up to the tier *sharing*, of the last up to none.
    assert (found.lower, found.higher) == (3, 1)
    assert found.ratio == pytest.approx(10 / 6)
    assert found.mean == pytest.approx((2 * 3 * 0.5 * 2) ** 0.25)


def test_the_command_prints_a_table(capsys: pytest.CaptureFixture[str]) -> None:
    assert ablation.main(["--stages", "shifting", "--groups", "player's", "--count", "1"]) == 0
    told = capsys.readouterr().out.splitlines()
    assert [line.split(" | ")[0] for line in told[1:]] == [
        "| off",
        "| ---",
        "| (once more)",
        "| shifting",
    ]
    assert told[-1].split(" | ")[1].endswith(" player's")


def test_no_obvious_way_leaves_less_to_relearn() -> None:
    found, _ = measured(1, 3, 5, 0.3)
    assert relearning(found.show, [song.layout for song in found.songs]) == found.prices.relearning
    ways = obvious(found.show)
    assert set(ways) == {"alone", "previous", "usual"}
    assert all(found.prices.relearning <= way for way in ways.values())
    assert any(found.prices.relearning < way for way in ways.values())
    alone = [allocate_request(song.played).layout for song in found.show.songs]  # type: ignore[arg-type]
    assert relearning(found.show, alone) == ways["alone"]
