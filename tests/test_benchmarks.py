"""The benchmark runs, counts what is proven, and its exit status tells whether all is."""

from __future__ import annotations

from typing import Any

import attrs
import pytest

from benchmarks import explained, proven
from benchmarks.proven import Run, main, report
from benchmarks.requests import eight_knobs
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


@pytest.mark.parametrize("wrong", [["--seeds", "0"], ["--sizes", "8,x"], ["--seeds", "-3"]])
def test_wrong_options_are_refused(wrong: list[str]) -> None:
    with pytest.raises(SystemExit) as refused:
        main(wrong)
    assert refused.value.code == 2


def test_a_report_counts_each_tier(capsys: pytest.CaptureFixture[str]) -> None:
    some = (True, True, True, False, False, False)
    gaps = (0.0, 0.0, 0.0, 0.1, 0.5, 0.25)
    runs = [Run(4, 1.0, 0.1, (True,) * 6, (0.0,) * 6), Run(5, 3.0, 0.3, some, gaps)]
    report("two", runs)
    printed = capsys.readouterr().out
    assert "two: 2 requests, seeds 4 to 5" in printed
    assert "min 1.000" in printed
    assert "max 3.000" in printed
    assert "unplaced 2  bundles 2  independence 2  sharing 1  change 1  layout 1" in printed
    assert "a layout after 0.200 s, 0.300 at most" in printed
    assert "sharing 10.000%  change 50.000%  layout 25.000%" in printed


def test_an_explanation_is_timed_beside_its_solve() -> None:
    timed = explained.run("seed 0", eight_knobs(0))
    assert timed.explain == pytest.approx(timed.ratio * timed.solve)
    assert timed.explain_solving > 0
