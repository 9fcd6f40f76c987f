"""Hostile files: two error types and nothing else, within a bound of memory."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobpack import InputError, Layout, Route
from knobpack.files import dumps, load, loads
from knobpack.midi import import_controllers
from knobpack.storage.strict_json import MOST_VALUES
from knobpack.words import Group, Request, Setup
from tests.oracles.amount import EXAMPLES
from tests.samples import REQUEST
from tests.trust.bombs import BOMBS
from tests.trust.fuzzing import LOADERS, fuzz, outcome, word
from tests.trust.hostile import NAMES, NO_NAMES, VALUES

ROOT = Path(__file__).parents[2]

MOST_MEGABYTES = 400
"""Resident memory, ortools and numpy in it, of a process that reads any file, at most."""

KEYS = st.sampled_from(
    (
        *("knobpack", "version", "name", "surface", "voices", "groups", "snapshots", "rules"),
        *("keep", "previous", "weights", "routes", "travels", "layers", "knobs", "bits", "travel"),
        *("start", "end", "destinations", "moves", "rule", "names", "weight", "title", "ctrlType"),
        *("ctrlIndex", "channel", "minMax", "paramPath", "__class__", "", "\x1b[2J", "\ud800"),
    )
)
TREES = st.recursive(
    st.sampled_from(VALUES) | st.integers() | st.text() | st.floats(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=5),
    max_leaves=25,
)


def test_spoiled_files_are_read_or_refused_and_nothing_else() -> None:
    found = fuzz(range(800))
    assert found.tried == 800
    for name in LOADERS:
        assert found.outcomes[f"{name}: refused"] > 10
    assert found.outcomes["word: read and used"] > 10
    assert found.outcomes["all controllers: read"] > 10


@settings(max_examples=max(60, EXAMPLES // 10))
@given(TREES, st.sampled_from(("setup", "request", "layout", "allocation")))
def test_trees_of_hostile_values_are_refused(tree: Any, kind: str) -> None:
    head = {"knobpack": kind, "version": 1, **(tree if isinstance(tree, dict) else {"": tree})}
    for plain in (head, [tree]):
        with suppress(ValueError):  # a number of more digits than Python writes
            text = _text(plain)
            for loader in LOADERS.values():
                outcome(loader, text)


def _text(plain: Any) -> str:
    return json.dumps(plain)


@pytest.mark.parametrize("name", BOMBS)
def test_bombs_are_refused(name: str) -> None:
    said, _ = outcome(word, BOMBS[name]())
    assert said == "refused"


def test_bombs_take_no_more_memory_than_is_said() -> None:
    """The heaviest bombs in a process that is given 1.5 GB of address space for all it has."""
    code = (
        "import resource\n"
        "resource.setrlimit(resource.RLIMIT_AS, (1_500_000_000,) * 2)\n"
        "from tests.trust.bombs import BOMBS, HEAVY\n"
        "from tests.trust.fuzzing import outcome, word\n"
        "for name in HEAVY:\n"
        "    assert outcome(word, BOMBS[name]().encode())[0] == 'refused'\n"
        # What getrusage tells is no less than what the parent had when this was started.
        "status = open('/proc/self/status').read()\n"
        "print(int(status.split('VmHWM:')[1].split()[0]) // 1024)"
    )
    done = subprocess.run(  # noqa: S603 (our own code)
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr[-2000:]
    assert int(done.stdout) < MOST_MEGABYTES


def test_what_holds_too_many_values_is_not_read() -> None:
    with pytest.raises(InputError, match="at most 400,000 values"):
        loads("[" + "0," * MOST_VALUES + "0]")
    # Commas in names are no values.
    commas = Layout(tuple(Route(f"a/{',' * 110}{at}", "K1") for at in range(4000)))
    assert dumps(commas).count(",") > MOST_VALUES
    assert loads(dumps(commas)) == commas


def test_a_setup_of_too_many_names_is_not_written() -> None:
    names = tuple(map("".join, product("abcdefghijklmnopqrstuv", repeat=3)))[:10_000]
    groups = tuple(Group(f"group {number}", names) for number in range(41))
    setup = Setup("s", REQUEST.surface, groups=groups)
    with pytest.raises(InputError, match="at most 400,000 values"):
        dumps(setup)


@pytest.mark.parametrize("size", [100_000_000, 2**40])
@pytest.mark.parametrize("reader", [load, lambda path: import_controllers(path, "Pad")])
def test_files_of_100_megabytes_and_more_are_not_read(
    size: int, reader: Callable[[Path], object], tmp_path: Path
) -> None:
    path = tmp_path / "long.json"
    with path.open("wb") as file:
        file.write(b"[" + b"1," * 1000)
        file.truncate(size)

    def read(given: Any) -> None:
        reader(given)

    assert outcome(read, path)[0] == "refused"
    with pytest.raises(InputError, match="at most 8,000,000 bytes"):
        reader(path)


@pytest.mark.parametrize("name", NAMES)
def test_names_that_mean_something_elsewhere_are_names_here(name: str) -> None:
    text = dumps(REQUEST).replace('"Bass', '"' + _text(name)[1:-1].replace("/", "|"))
    found = loads(text)
    assert isinstance(found, Request)
    assert found.voices[1].name == name.replace("/", "|")
    assert loads(dumps(found)) == found


@pytest.mark.parametrize("name", NO_NAMES)
def test_what_turns_text_round_or_commands_a_terminal_is_no_name(name: str) -> None:
    text = dumps(REQUEST).replace('"name": "Bass"', f'"name": {_text(name)}')
    with pytest.raises(InputError) as caught:
        loads(text)
    assert str(caught.value).isprintable()
