"""Saving: processes that save over and over and are killed, and what is found on the disk then."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path
from typing import Final

from knobpack.files import dumps, loads, save
from knobpack.midi import SweepFile
from knobpack.midi.sweep_streams import Timing
from knobpack.words import Layout, Route

ROOT: Final = Path(__file__).parents[2]

LONG: Final = 4_000
"""Routes of a long layout: so much that a file is not written in one piece."""

SAVER: Final = """
import sys
from itertools import count
from tests.trust.saving import layout, save_all
path, seed = sys.argv[1:]
for turn in count(int(seed)):
    save_all(path, turn)
    print(turn, flush=True)
"""


def layout(turn: int) -> Layout:
    """A layout that says its turn in every route: long and short ones in turn."""
    routes = LONG if turn % 2 else 3
    return Layout(tuple(Route(f"voice/{at}", f"knob {turn}") for at in range(routes)))


def save_all(folder: str, turn: int) -> None:
    """Save a word, and the bytes of a sweep file."""
    word = layout(turn)
    save(f"{folder}/word.json", word)
    data = dumps(word).encode()
    timing = Timing(127, 1000, 128)  # what it sounds like does not matter here
    save(f"{folder}/all.mid", SweepFile("Stage", "all", "all.mid", timing, data, ()))


def kill_while_saving(folder: Path, seed: int) -> Counter[str]:
    """Let a process save until it is killed at some moment, and look at what is there.

    Returns:
        How many files of each sort were found.

    Raises:
        AssertionError: half a file was found, an old file was lost, or more than one file that
            was being written was left behind.
    """
    draw = random.Random(seed)  # noqa: S311 (no secret)
    for name in ("word.json", "all.mid"):
        (folder / name).write_text(dumps(layout(0)))
    saver = subprocess.Popen(  # noqa: S603 (our own code)
        [sys.executable, "-c", SAVER, str(folder), "1"], cwd=ROOT, stdout=subprocess.PIPE
    )
    try:
        assert saver.stdout is not None
        saver.stdout.readline()  # the first turn is saved: from now on it is always saving
        time.sleep(draw.random() * 0.25)
        os.kill(saver.pid, signal.SIGKILL)
        told = [1, *(int(line) for line in saver.stdout.read().split())]
    finally:
        saver.kill()
        saver.wait()
        if saver.stdout is not None:
            saver.stdout.close()
    found: Counter[str] = Counter()
    for name in ("word.json", "all.mid"):
        word = loads((folder / name).read_bytes())
        assert word in [layout(told[-1] + more) for more in (0, 1)], name
        found["whole"] += 1
    left = [path for path in folder.iterdir() if path.name not in {"word.json", "all.mid"}]
    assert len(left) <= 1
    for path in left:
        assert path.name.startswith(".")
        assert path.name.endswith(".tmp")
        found["left behind"] += 1
        path.unlink()
    return found
