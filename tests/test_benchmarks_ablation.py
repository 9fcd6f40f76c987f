"""The ablation table: each stage can be switched off, and what is lost is counted as it says."""

from __future__ import annotations

from pkgutil import resolve_name

import pytest

from benchmarks.ablation import STAGES, Found, main, row


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
    assert main(["--stages", "shifting", "--groups", "player's", "--count", "1"]) == 0
    told = capsys.readouterr().out.splitlines()
    assert [line.split(" | ")[0] for line in told[1:]] == [
        "| off",
        "| ---",
        "| (once more)",
        "| shifting",
    ]
    assert told[-1].split(" | ")[1].endswith(" player's")
