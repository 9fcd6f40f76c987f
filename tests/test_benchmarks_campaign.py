"""The campaign: requests of every sort against oracles, taken up where it was left."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

import attrs
import pytest

from benchmarks import campaign
from benchmarks.campaign import CHUNK, Chunk, fingerprint, main, read, tried
from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.show import Show
from knobpack.words import Request
from tests.oracles import differential, differential_shows, shows
from tests.oracles.brute import least
from tests.oracles.differential import (
    SMALL,
    compared,
)
from tests.oracles.strategies import seeded_request


def test_shows_are_tried_too(monkeypatch: pytest.MonkeyPatch) -> None:
    chunk = tried(fingerprint() + campaign.OF_SHOWS, 0, 1)
    assert chunk.faults == []
    assert chunk.counts == {
        f"sort: {differential_shows.SHOWS}": 1,
        "outcome: impossible": 0,
        "outcome: knobpack left a tier unproven": 0,
        "outcome: the oracle left a tier unproven": 0,
    }
    best = shows.best_of_show

    def better(show: Show, allowed: Sequence[tuple[int, int]]) -> tuple[int, ...]:
        found = best(show, allowed)
        return (*found[:8], found[8] - 1, *found[9:])

    monkeypatch.setattr(differential_shows, "best_of_show", better)
    faults = [fault for _, _, fault in tried(campaign.OF_SHOWS, 0, 1).faults]
    assert any("sharing has the bound" in fault for fault in faults)
    assert any("and can be" in fault for fault in faults)


@pytest.mark.parametrize("seed", [30017, 30164, 30734])
def test_what_the_base_has_on_a_reserved_knob_is_not_new_there(seed: int) -> None:
    # Each clashes over a kept route on a reserved knob, and the clash does not name the route.
    verdict = compared(seed, SMALL)
    assert verdict.impossible
    assert verdict.faults == ()


# It is taken up where it was left ----------------------------------------------------------------


def test_it_goes_on_where_it_was_left(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out, code = tmp_path / "out.jsonl", fingerprint()
    done = Chunk(code, 50, CHUNK, 1.0, {"feature: group": 9}, [])
    other = attrs.evolve(done, code="another", first=0)
    lines = [json.dumps(attrs.asdict(each)) for each in (done, other)]
    # The process was killed in the middle of the last line.
    half = json.dumps(attrs.asdict(attrs.evolve(done, first=0)))[:40]
    out.write_text("\n".join([*lines, half]), "utf-8")
    asked = ["--out", str(out), "--requests", "100", "--processes", "1"]
    assert main([*asked, "--from", "70", "--seconds", "0"]) == 0
    assert "50 requests tried on code" in capsys.readouterr().out
    assert main([*asked, "--seconds", "600"]) == 0
    printed = capsys.readouterr().out
    assert "100 requests tried on code" in printed
    assert "0 disagreements" in printed
    found = read(out, code)
    assert sorted(found) == [0, 50]
    assert found[50] == done
    sorts = (each for name, each in found[0].counts.items() if name.startswith("sort: "))
    assert found[0].requests == sum(sorts) == CHUNK


def test_a_disagreement_in_the_file_makes_the_status_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out.jsonl"
    wrong = Chunk(fingerprint(), 0, CHUNK, 1.0, {}, [(7, "small", "sharing is 3, and can be 2")])
    out.write_text(json.dumps(attrs.asdict(wrong)) + "\n", "utf-8")
    assert main(["--out", str(out), "--requests", "50", "--processes", "1"]) == 1
    printed = capsys.readouterr().out
    assert "1 disagreements\n    seed 7 (small): sharing is 3, and can be 2" in printed
    assert "features that did not occur: 14 bits" in printed


def test_the_code_has_a_fingerprint(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    for pattern in campaign.CODE:
        assert list(campaign.ROOT.glob(pattern)), pattern
    for name in ("knobpack/solver", "tests"):
        (tmp_path / name).mkdir(parents=True)
    (tmp_path / "knobpack/solver/solve.py").write_text("1")
    monkeypatch.setattr(campaign, "ROOT", tmp_path)
    before = fingerprint()
    (tmp_path / "tests/test_it.py").write_text("1")
    assert fingerprint() == before
    (tmp_path / "knobpack/solver/solve.py").write_text("2")
    assert fingerprint() != before


# The judge is judged -----------------------------------------------------------------------------


def possible_seed() -> int:
    """The first seed whose request is possible and costs something in each of three tiers."""
    for seed in range(500):
        best = least(seeded_request(seed))
        if best is not None and min(best.totals[3:]) > 0:
            return seed
    raise AssertionError


@pytest.mark.parametrize("tier", range(6))
def test_a_value_that_is_off_by_one_is_caught(monkeypatch: pytest.MonkeyPatch, tier: int) -> None:
    def off(request: Request) -> Allocation:
        found = allocate_request(request)
        each = found.tiers[tier]
        wrong = attrs.evolve(each, value=each.value + 1, bound=each.bound + 1)
        tiers = (*found.tiers[:tier], wrong, *found.tiers[tier + 1 :])
        return attrs.evolve(found, tiers=tiers)

    seed = possible_seed()
    assert compared(seed, SMALL).faults == ()
    monkeypatch.setattr(differential, "allocate_request", off)
    faults = compared(seed, SMALL).faults
    assert any(", and can be " in fault for fault in faults)
    assert any(fault.startswith("the checker finds") for fault in faults)
    assert any(fault.startswith("the oracle prices") for fault in faults)
