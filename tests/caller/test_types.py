"""What runs type-checks in strict mode, under mypy and pyright; what does not run is refused."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import knobpack
from knobpack import Apart, InputError

HERE = Path(__file__).parent
ROOT = Path(knobpack.__file__).parents[1]

WRONG = """
Together()
Destination()
Surface()
Knob()
Route("Organ/level")
Surface.row(3, bitz=7)
Surface.grid(2, 4, layer=3)
Surface.row(3, bits="7")
Surface.row(3, travel_on="knobs")
Surface(8)
Together("Organ", "Bass")
Together(3)
Together([1])
Together([Destination("level")])
Alone("Organ", wait=3)
Fixed("Organ", ["K1"])
Barred("Organ", [Voice("Organ")])
Destination("level", priority=1.5)
Destination("level", travel=(0, 64))
Destination("level", kinds="level")
Travel(0, "127")
Voice("Organ", ["level"])
Voice("Organ", Destination("level"))
Group("low")
Snapshot("all", [Knob("K1")])
Snapshot("all", positions=["K1"])
Layout([("Organ/level", "K1")])
words.KnobSending("K1", turning="pickup")
KnobTravel("K1", (0, 64))
KnobPosition("K1", 1.5)
words.Span("C3", "C4")
Travel.full("7")
Swap("K1")
Join(3)
OneMore("Organ")
positions.Curve("square")
Weights(unplaced="high")
Setup("Set", 8)
Setup("Set", Surface.row(2), [Voice("Organ")], [Route("Organ/level", "K1")])
Request(Surface.row(2), [Voice("Organ")], [Snapshot("all")])
Request(Surface.row(2), [Voice("Organ")], rules=["together"])
allocate([Voice("Organ")], 8)
allocate([Voice("Organ")], Surface.row(2), timelimit=3)
allocate([Voice("Organ")])
allocate(Surface.row(2), [Voice("Organ")])
allocate(Request(Surface.row(2), [Voice("Organ")]), Surface.row(2))
files.save("wrong.json", b"bytes")
files.save("wrong.json", [3])
files.save("wrong.json", {1: Setup("Set", Surface.row(2))})
files.save("wrong.json", 3)
"""
"""Each of these lines is refused by the checkers, and when it runs."""

LINES = WRONG.strip().splitlines()


def program(path: Path) -> str:
    """The wrong lines after the names that they use."""
    used = set(re.findall(r"\b(\w+)[(.]", WRONG))
    names = sorted(name for name in used if hasattr(knobpack, name))
    head = f"from __future__ import annotations\n\nfrom knobpack import {', '.join(names)}\n\n"
    path.write_text(head + WRONG.strip() + "\n", "utf-8")
    return head


def by_mypy(paths: list[Path], folder: Path) -> dict[tuple[str, int], str]:
    """What mypy says in strict mode, by file and line."""
    told = ran("mypy", "--strict", "--config-file", os.devnull, *map(str, paths), folder=folder)
    found = re.findall(r"^(.+?):(\d+): error: (.*)$", told, re.MULTILINE)
    return {(Path(file).name, int(line)): text for file, line, text in found}


def by_pyright(paths: list[Path], folder: Path) -> dict[tuple[str, int], str]:
    """What pyright says in strict mode, by file and line."""
    pytest.importorskip("basedpyright", reason="a type checker of the extra `test`")
    asked = {"typeCheckingMode": "strict", "include": [str(path) for path in paths]}
    config = folder / "pyrightconfig.json"
    config.write_text(json.dumps(asked | {"extraPaths": [str(ROOT)]}), "utf-8")
    installed = ("--pythonpath", sys.executable)
    told = ran("basedpyright", "--outputjson", "-p", str(config), *installed, folder=folder)
    found = json.loads(told)["generalDiagnostics"]
    assert json.loads(told)["summary"]["filesAnalyzed"] == len(paths)
    return {
        (Path(each["file"]).name, each["range"]["start"]["line"] + 1): each["message"]
        for each in found
        if each["severity"] == "error"
    }


def ran(checker: str, *arguments: str, folder: Path) -> str:
    """What a checker prints, run as a program of its own."""
    paths = os.pathsep.join([str(ROOT), *filter(None, [os.environ.get("PYTHONPATH")])])
    done = subprocess.run(  # noqa: S603
        [sys.executable, "-m", checker, *arguments],
        capture_output=True,
        check=False,
        cwd=folder,
        env=os.environ | {"PYTHONPATH": paths, "MYPYPATH": str(ROOT)},
        text=True,
    )
    assert done.returncode in (0, 1), done.stderr
    return done.stdout


CHECKERS = [by_mypy, by_pyright]
Checker = Callable[[list[Path], Path], dict[tuple[str, int], str]]


@pytest.mark.parametrize("checker", CHECKERS)
def test_what_is_right_passes_and_what_is_wrong_is_refused(
    checker: Checker, tmp_path: Path
) -> None:
    head = program(tmp_path / "wrong.py")
    readme = (ROOT / "README.md").read_text("utf-8")
    shown = re.findall(r"^```python\n(.*?)^```$", readme, re.DOTALL | re.MULTILINE)
    (tmp_path / "readme.py").write_text("\n".join(shown), "utf-8")
    rights = [HERE / "program.py", HERE / "right.py", tmp_path / "readme.py"]
    found = checker([*rights, tmp_path / "wrong.py"], tmp_path)
    first = 1 + head.count("\n")
    wrong = {("wrong.py", first + number): line for number, line in enumerate(LINES)}
    assert {place: text for place, text in found.items() if place not in wrong} == {}
    assert [line for place, line in wrong.items() if place not in found] == []


@pytest.mark.parametrize("line", LINES)
def test_what_is_wrong_is_refused_when_it_runs(line: str) -> None:
    with pytest.raises((InputError, TypeError)) as caught:
        exec(line, {name: getattr(knobpack, name) for name in dir(knobpack)})  # noqa: S102
    assert not isinstance(caught.value, TypeError) or "argument" in str(caught.value)


def test_what_is_right_runs() -> None:
    from tests.caller import right

    assert [type(each) for each in right.REQUEST.weights.travel] == [int] * 5
    assert right.RULES[2] == Apart("Organ", "Bass", 2)
    assert right.RULES[0] == Apart(["Organ/cutoff", "Organ/level"], "Bass", 1)
    assert right.LAYOUT.routes[1].destination == "Bass/level"
    assert right.FOUND.proven


def test_the_tool_runs() -> None:
    done = subprocess.run(  # noqa: S603
        [sys.executable, str(HERE / "program.py")],
        capture_output=True,
        check=True,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        text=True,
    )
    assert done.stderr == ""
    for told in (
        "allocate.rules[1].names[0]: name a voice, a group",
        "That cannot be done: drop the rule",
        "Organ/drawbars is on K",
        "not there: no such file.json",
        "[4, 4, 4] [4, 4, 4] [4, 4, 4] [4, 4, 4]\n",
        "[True, True, True]",
        "close to it: Organ/rotor",
    ):
        assert told in done.stdout
