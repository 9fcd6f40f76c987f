"""The benchmarks run, say what they found, and end with a status that tells whether all is well."""

from __future__ import annotations

from pkgutil import resolve_name
from typing import Any

import attrs
import pytest

from benchmarks import ablation, explained, many, proven
from benchmarks.ablation import STAGES, Found, row
from benchmarks.proven import Run, main, report
from benchmarks.requests import eight_knobs
from benchmarks.shows import measured, obvious, relearning, seeded
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


def test_every_way_gives_the_replies_that_were_asked_for_and_another_is_noticed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    requests = [eight_knobs(seed) for seed in range(2)]
    honest = list(many.measured(requests, 1))
    for found in honest:
        assert [reply.get() for reply in found.replies] == list(map(allocate_request, requests))
        assert found.seconds > 0
        assert found.busy > 0
    false = [honest[0], attrs.evolve(honest[1], replies=())]
    for told, status, last in ((honest, 0, "the same replies"), (false, 1, "NOT the same replies")):
        monkeypatch.setattr(many, "measured", lambda *_, told=told: iter(told))
        assert many.main(["--requests", "2", "--cores", "1"]) == status
        printed = capsys.readouterr().out.splitlines()
        assert printed[1].split()[:4] == ["one", "after", "the", "other"]
        assert printed[2].split()[:2] == ["1", "processes"]
        assert printed[-1] == last


def test_the_same_seed_gives_the_same_show() -> None:
    assert seeded(3, 4, 6) == seeded(3, 4, 6)
    assert seeded(3, 4, 6) != seeded(4, 4, 6)


def test_no_obvious_way_leaves_less_to_relearn() -> None:
    found, _ = measured(1, 3, 5, 0.3)
    assert relearning(found.show, [song.layout for song in found.songs]) == found.prices.relearning
    ways = obvious(found.show)
    assert set(ways) == {"alone", "previous", "usual"}
    assert all(found.prices.relearning <= way for way in ways.values())
    assert any(found.prices.relearning < way for way in ways.values())
    alone = [allocate_request(song.played).layout for song in found.show.songs]  # type: ignore[arg-type]
    assert relearning(found.show, alone) == ways["alone"]
