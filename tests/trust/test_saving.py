"""Saving: killed, out of room or without leave, the old file or the new one is there."""

from __future__ import annotations

import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from knobpack import FileError
from knobpack.files import dumps, load, save
from tests.trust.saving import ROOT, kill_while_saving, layout

pytestmark = pytest.mark.skipif(os.name != "posix", reason="POSIX signals, limits and modes")


def test_killed_at_any_moment_a_whole_file_is_there(tmp_path: Path) -> None:
    found: Counter[str] = Counter()
    for seed in range(3):
        found += kill_while_saving(tmp_path, seed)
    assert found["whole"] == 6


def child(code: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run code of ours in a process of its own."""
    return subprocess.run(  # noqa: S603 (our own code)
        [sys.executable, "-c", code, *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


FULL = """
import resource, sys
from pathlib import Path
from knobpack import InputError
from knobpack.files import save
from tests.trust.saving import layout
path = Path(sys.argv[1])
# Half of what is to be written fits. The kernel's signal is ignored by Python: an error comes.
resource.setrlimit(resource.RLIMIT_FSIZE, (40_000, resource.RLIM_INFINITY))
import networkx as nx
graph = nx.MultiDiGraph()
graph.add_nodes_from("a name that takes some room %d" % at for at in range(3000))
ways = {
    "word.json": lambda at: save(at, layout(1)),
    "graph.json": lambda at: save(at, graph),
    "graph.graphml": lambda at: save(at, graph),
}
for name, write in ways.items():
    try:
        write(path / name)
    except InputError as error:
        print(error)
    else:
        print("written")
"""


def test_a_full_disk_gives_one_clear_error_and_leaves_the_old_file(tmp_path: Path) -> None:
    names = ("word.json", "graph.json", "graph.graphml")
    for name in names:
        (tmp_path / name).write_bytes(b"old")
    done = child(FULL, str(tmp_path))
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert len(lines) == len(names)
    for name, line in zip(names, lines, strict=True):
        assert line.startswith(f"{tmp_path}/{name}: File too large; give a file that can be")
        assert (tmp_path / name).read_bytes() == b"old"
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(names)


READ_ONLY = """
import os, sys
from knobpack import InputError
from knobpack.files import save
from tests.trust.saving import layout, save_all
import tempfile
with tempfile.TemporaryDirectory() as spare:
    save_all(spare, 0)  # what it imports may lie where only root may read
if os.geteuid() == 0:
    os.setresgid(65534, 65534, 65534)
    os.setresuid(65534, 65534, 65534)
try:
    save(sys.argv[1] + "/word.json", layout(1))
except InputError as error:
    print(error)
"""


def test_a_folder_without_leave_gives_one_clear_error(tmp_path: Path) -> None:
    folder = tmp_path / "kept"
    folder.mkdir()
    (folder / "word.json").write_text(dumps(layout(0)))
    folder.chmod(0o555)
    for above in (tmp_path, *tmp_path.parents[:2]):
        above.chmod(above.stat().st_mode | 0o011)
    try:
        done = child(READ_ONLY, str(folder))
    finally:
        folder.chmod(0o755)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith(f"{folder}/word.json: Permission denied; give a file that can be")
    assert done.stdout.count("\n") == 1
    assert load(folder / "word.json") == layout(0)
    assert [path.name for path in folder.iterdir()] == ["word.json"]


def test_what_is_no_file_is_not_replaced_by_one(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.json"
    os.mkfifo(pipe)
    with pytest.raises(FileError, match="a device or a pipe, and no file"):
        save(pipe, layout(0))
    assert pipe.is_fifo()
    assert [path.name for path in tmp_path.iterdir()] == ["pipe.json"]
