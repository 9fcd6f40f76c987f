"""The long forms: each runs, counts what it did, and says where to go on; a fault is a fault."""

from __future__ import annotations

import pytest

from benchmarks import trust
from knobpack import KnobpackError
from tests.trust import fuzzing
from tests.trust.fuzzing import Escaped, outcome


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (
            ["--fuzz", "--count", "30", "--first", "7"],
            "fuzz: 17 bombs and 30 hostile files, next seed 37:",
        ),
        (["--extremes", "--count", "8", "--first", "1"], "of 8 extreme requests, next seed 9:"),
        (["--memory", "--count", "20"], "memory: 20 calls:"),
        (["--fuzz", "--seconds", "0"], "fuzz: 17 bombs and 0 hostile files, next seed 0:"),
    ],
)
def test_each_form_says_what_it_did(
    arguments: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert trust.main(arguments) == 0
    assert told in capsys.readouterr().out


def test_a_fault_makes_the_status_1(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(trust, "least", lambda _: None)
    assert trust.main(["--extremes", "--count", "8", "--first", "1"]) == 1
    assert "FAULT: seed" in capsys.readouterr().out
    with pytest.raises(SystemExit):
        trust.main([])


def test_what_escapes_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fuzzing, "HANG", 0.2)

    def wrong(_: object) -> None:
        raise RecursionError

    def hung(_: object) -> None:
        while True:
            pass

    def unshown(_: object) -> None:
        raise KnobpackError("\x1b[2J")

    with pytest.raises(RecursionError):
        outcome(wrong, "")
    with pytest.raises(Escaped, match="hangs"):
        outcome(hung, "")
    with pytest.raises(Escaped, match="not to be shown"):
        outcome(unshown, "")
