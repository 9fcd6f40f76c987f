"""The same input gives the same answer, in every process and on any number of cores.

That the order in which it is given does not matter either is among ``tests/oracles/properties.py``.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.requests import eight_knobs, sized
from knobpack import allocate_request
from knobpack.clash.every import every_clash
from knobpack.clash.find import find_clash
from knobpack.files import save
from knobpack.midi import Sent, controller_numbers
from tests.clash.clash_requests import seeded, strict, watch
from tests.files.answers import allocation
from tests.midi.numbered_setups import earlier, plain
from tests.oracles.strategies import seeded_request

ROOT = Path(__file__).parents[1]


def told() -> str:
    """One answer of each sort whose making goes through sets or hashes, requests among them."""
    requests = [eight_knobs(3), eight_knobs(7), sized(3, 16, 70), *map(seeded_request, (0, 2, 3))]
    clashing = [strict(seeded(seed)) for seed in range(40)]
    given = earlier({"K2": Sent(30), "K5": Sent(16), "K7": Sent(24)})
    written = []
    with TemporaryDirectory() as folder:
        for ending in (".graphml", ".json"):
            path = Path(folder, f"graph{ending}")
            save(path, allocation().graph)
            written.append(path.read_bytes())
    return repr(
        [
            *requests,
            *map(allocate_request, requests),
            *(find_clash(each, watch()) for each in clashing),
            *(every_clash(each, most=12) for each in clashing[:8]),
            controller_numbers(plain(9, bits=10), fine=True, previous=given),
            *written,
        ]
    )


def test_hash_seeds_and_cores_make_no_difference() -> None:
    """One core or all of them, one thread of the numeric library or many."""
    code = "from tests.test_same_answer import told; print(told())"
    narrow = "import os\nos.sched_setaffinity(0, {min(os.sched_getaffinity(0))})\n"
    if not hasattr(os, "sched_setaffinity"):
        narrow = ""
    variables = {"PYTHONHASHSEED": "1", "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    other = subprocess.run(  # noqa: S603 (our own code)
        [sys.executable, "-c", narrow + code],
        env=os.environ | variables | {"PYTHONOPTIMIZE": "2"},
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    assert other == f"{told()}\n"
