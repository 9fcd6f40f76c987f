"""Mutation testing: ``python -m benchmarks.mutate [--keep DIR] [--processes N]``.

Changes one small thing at a time in the code that decides what is right (the plain checker, the
prices, the numbering of problems), and runs the quickest tests that speak of it: a change that none
of them notices survives, and is printed. All of it happens in a copy of the tree. Takes a quarter
of an hour on two idle cores; needs ``mutmut`` and ``cosmic-ray``, which nothing else needs:
``pip install mutmut==3.8.1 cosmic-ray==8.7.0``.

mutmut forks for every change, so it is quick, but leaves properties alone; cosmic-ray starts a
process for every change, and is used where there is nothing but properties.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import attrs

ROOT = Path(__file__).parents[1]
FUNCTIONS = (
    *("knobpack/checker.py", "knobpack/definition/layout_prices.py"),
    *("knobpack/numbered/request.py", "knobpack/numbered/problem.py"),
)
PROPERTIES = ("knobpack/definition/prices.py",)
TESTS = (
    *("tests/test_checker_by_hand.py", "tests/test_checker.py", "tests/test_checker_words.py"),
    *(
        "tests/test_checker_prices.py",
        "tests/numbered/test_problem_by_hand.py",
        "tests/numbered/test_problem.py",
    ),
    *("tests/test_travel_on_route.py", "tests/text/test_shown.py"),
    "tests/test_benchmarks_campaign.py::test_a_few_dozen_requests_agree",
    "tests/solver/cp_sat/test_compact_model.py::test_every_tier_of_an_edit_is_what_brute_force_finds",
)
EXAMPLES = "150"
"""``KNOBPACK_EXAMPLES`` for these tests: as few as the tests themselves allow."""


@attrs.frozen
class Figures:
    """What became of the changes.

    Args:
        made: how many there were.
        killed: how many the tests noticed, by failing or by running for ever.
        survivors: each change that none noticed, as a diff.
    """

    made: int
    killed: int
    survivors: tuple[str, ...]


def copied(to: Path) -> None:
    """Copy what the tests need, and say in the copy's settings what is to be changed."""
    for name in ("knobpack", "tests", "benchmarks"):
        shutil.copytree(ROOT / name, to / name, ignore=shutil.ignore_patterns("__pycache__"))
    settings = (
        "\n[tool.mutmut]\n"
        f"source_paths = {json.dumps(FUNCTIONS)}\n"
        f"pytest_add_cli_args_test_selection = {json.dumps(TESTS)}\n"
        'also_copy = ["benchmarks", "knobpack", "tests", "pyproject.toml"]\n'
        "timeout_multiplier = 4\n"
    )
    text = (ROOT / "pyproject.toml").read_text("utf-8")
    (to / "pyproject.toml").write_text(text + settings, "utf-8")
    tests = " ".join(TESTS[:2])
    for path in PROPERTIES:
        (to / f"{Path(path).stem}.toml").write_text(
            "[cosmic-ray]\n"
            f'module-path = ["{path}"]\ntimeout = 60.0\nexcluded-modules = []\n'
            f'test-command = "{sys.executable} -m pytest -x -q {tests}"\n'
            '[cosmic-ray.distributor]\nname = "local"\n',
            "utf-8",
        )


def by_mutmut(copy: Path, processes: int) -> Figures:
    """Change functions and methods."""
    _run(copy, "mutmut", "run", "--max-children", str(processes))
    _run(copy, "mutmut", "export-cicd-stats")
    stats = json.loads((copy / "mutants" / "mutmut-cicd-stats.json").read_text("utf-8"))
    names = [
        line.split(":")[0].strip()
        for line in _run(copy, "mutmut", "results").splitlines()
        if line.endswith((": survived", ": no tests", ": suspicious"))
    ]
    survivors = tuple(_run(copy, "mutmut", "show", name) for name in names)
    return Figures(stats["total"], stats["total"] - len(survivors), survivors)


def by_cosmic_ray(copy: Path, path: str) -> Figures:
    """Change anything in a module."""
    settings, session = f"{Path(path).stem}.toml", f"{Path(path).stem}.sqlite"
    _run(copy, "cosmic-ray", "init", settings, session)
    _run(copy, "cosmic-ray", "exec", settings, session)
    jobs = _run(copy, "cr-report", "--show-diff", session).split("[job-id]")[1:]
    survivors = tuple(job for job in jobs if "TestOutcome.SURVIVED" in job)
    return Figures(len(jobs), len(jobs) - len(survivors), survivors)


def _run(copy: Path, program: str, *arguments: str) -> str:
    """What a program of this environment prints. How it ends says only whether any survived."""
    found = shutil.which(program, path=f"{Path(sys.executable).parent}{os.pathsep}{os.defpath}")
    if found is None:
        raise SystemExit(f"{program} is not installed: pip install mutmut cosmic-ray")
    return subprocess.run(  # noqa: S603 (our own tools)
        [found, *arguments],
        cwd=copy,
        env={**os.environ, "KNOBPACK_EXAMPLES": EXAMPLES},
        stdout=subprocess.PIPE,
        text=True,
        check=False,
    ).stdout


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the figures and every survivor; how many survived."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.mutate", description=__doc__)
    parser.add_argument("--keep", type=Path, help="a new folder for the copy, kept afterwards")
    parser.add_argument("--processes", type=int, default=os.cpu_count() or 1, help="(every core)")
    given = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        copy: Path = given.keep or Path(folder)
        copied(copy)
        figures = {" ".join(FUNCTIONS): by_mutmut(copy, given.processes)}
        figures |= {path: by_cosmic_ray(copy, path) for path in PROPERTIES}
    for what, each in figures.items():
        print(f"{what}: {each.made} changes, {each.killed} killed, {len(each.survivors)} survive")
        for survivor in each.survivors:
            print(survivor)
    return sum(len(each.survivors) for each in figures.values())


if __name__ == "__main__":
    main()
