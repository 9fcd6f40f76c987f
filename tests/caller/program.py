# pyright: strict
"""A tool of someone else that embeds knobpack: own format in, questions, files, pools, a cluster.

It is checked by strict type checkers and run, by ``.ci/run`` against the installed wheel as well.
"""

from __future__ import annotations

import asyncio
import csv
import tempfile
import threading
from collections.abc import Generator, Iterable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path

import knobpack as kp
from knobpack import files
from knobpack.limits import Limits, Progress
from knobpack.many import Tally
from knobpack.simulation import sweep
from knobpack.types import Rule
from knobpack.words.edits import with_knobs

PATCH = """voice,input,sort,rank,from,to
Organ,drawbars,level,1,0,127
Organ,rotor,speed,3,0,64
Bass,cutoff,cutoff,2,127,0
Bass,level,level,1,,
"""
"""A format of the tool's own."""


def voices(text: str) -> Iterator[kp.Voice]:
    """The voices of a patch in that format, one at a time."""
    inputs: dict[str, list[kp.Destination]] = {}
    for row in csv.DictReader(text.splitlines()):
        travel = kp.Travel(int(row["from"]), int(row["to"])) if row["from"] else None
        made = kp.Destination(row["input"], row["sort"], priority=int(row["rank"]), travel=travel)
        inputs.setdefault(row["voice"], []).append(made)
    for number, (name, own) in enumerate(inputs.items(), start=1):
        yield kp.Voice(name, own, layer=number)


class Bar:
    """A progress bar that can be cancelled from another thread."""

    def __init__(self) -> None:
        self.told: list[Progress] = []
        self.stop = threading.Event()

    @property
    def limits(self) -> Limits:
        """What every search is given."""
        return Limits(time_limit=60, progress=self.told.append, cancel=self.stop.is_set)


def best(given: Iterable[kp.Voice], rules: Iterable[Rule], bar: Bar) -> kp.Allocation | str:
    """The best layout, or what the player is told in its place."""
    try:
        return kp.allocate(given, kp.Surface.row(3), rules=rules, limits=bar.limits)
    except kp.ImpossibleDemands as error:
        return f"That cannot be done: {error.clash.instructions[0]}."
    except kp.NoLayoutFound as error:
        return f"Nothing yet: {error.stopped}"
    except kp.InputError as error:
        return f"{error.field}: {error.right}"


def explained(found: kp.Allocation, bar: Bar) -> Iterator[str]:
    """What the tool shows beside each knob."""
    for record in found.to_records():
        name, knob = str(record["destination"]), record["knob"]
        yield found.why(name, solve=False).sentences[0]
        others = (other for other in found.request.surface.knob_names if knob and other != knob)
        yield from (found.why_not(name, other).sentences[0] for other in others)
    budget = found.knob_budget(limits=bar.limits)
    yield f"{len(budget.families)} families, gap {found.gap:.0%}"
    yield found.request.least_knobs(limits=bar.limits).sentences[0]


def reloaded(found: kp.Allocation, folder: Path) -> kp.Allocation:
    """An allocation that was saved and is loaded again, with its proofs."""
    files.save(folder / "evening.json", found)
    files.save(folder / "evening.graphml", found.graph)
    try:
        files.load(folder / "no such file.json")
    except kp.FileError as error:
        print("not there:", Path(error.filename).name)
    return files.load_allocation(folder / "evening.json")


def routes(requests: Iterable[kp.Request], executor: Executor | None = None) -> list[int]:
    """How many routes each request comes to; any executor will do."""
    tallies: list[Tally] = []
    replies = kp.allocate_many(requests, executor=executor, progress=tallies.append)
    assert tallies[-1].answered == len(replies)
    return [len(reply.get().routes) for reply in replies]


@contextmanager
def cluster() -> Generator[Executor]:
    """The executor of a Dask cluster; that of threads where Dask is not installed."""
    try:
        client = import_module("distributed").Client(processes=False, dashboard_address=None)
    except ModuleNotFoundError:
        client = ThreadPoolExecutor(2)
    with client:
        yield client if isinstance(client, Executor) else client.get_executor()


async def beside(requests: Iterable[kp.Request]) -> list[kp.Allocation]:
    """Several requests at once while the loop goes on with other work."""
    searches = (asyncio.to_thread(kp.allocate_request, each) for each in requests)
    return await asyncio.gather(*searches)


def journey(found: kp.Allocation) -> Iterator[str]:
    """The whole job: combined with a base, edited, checked, heard, programmed."""
    base = kp.Setup("Base", kp.Surface.row(4), snapshots=[kp.Snapshot("All")])
    edited = kp.edit(kp.combine(base, found.setup("Guest")).setup, kp.OwnKnob("Organ/rotor")).setup
    yield f"{len(kp.audit(edited).findings)} findings"
    yield f"{sweep(edited, edited.snapshots[-1].name).positions.shape[0]} positions"
    yield kp.patch_sheet(base, edited).text().splitlines()[0]


def main() -> None:
    """Go through what an embedding tool needs."""
    (organ, bass), bar = voices(PATCH), Bar()
    print(best([organ, bass], [kp.Together(organ.by_full_name), kp.Alone("Orgn")], bar))
    print(best([organ, bass], [kp.Together([organ, bass]), kp.Alone(organ)], bar))
    found = best([organ, bass], [kp.Alone([organ])], bar)
    assert isinstance(found, kp.Allocation)
    print(kp.__version__, found.proven, *explained(found, bar), *journey(found), sep="\n")
    with tempfile.TemporaryDirectory() as folder:
        assert reloaded(found, Path(folder)) == found
    wider = [with_knobs(found.request, more) for more in range(3)]
    with ProcessPoolExecutor(2) as processes, ThreadPoolExecutor(2) as threads, cluster() as dask:
        print(routes(wider), *(routes(wider, pool) for pool in (processes, threads, dask)))
    print([each.proven for each in asyncio.run(beside(wider))])
    try:
        found.knob_of("Organ/rotr")
    except kp.KnobpackError as error:
        print(error)


if __name__ == "__main__":
    main()
