# pyright: strict
"""A tool of someone else that embeds knobpack: own format in, questions, files, threads, a pool.

It is written as a caller would write it, checked by strict type checkers, and run. ``.ci/run``
copies it out of the tree and does both against the installed wheel.
"""

from __future__ import annotations

import asyncio
import csv
import io
import sys
import tempfile
import threading
from collections.abc import Iterable, Iterator, Mapping
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path
from typing import assert_type

import knobpack
from knobpack import (
    Allocation,
    Alone,
    Destination,
    FileError,
    ImpossibleDemands,
    InputError,
    KnobpackError,
    OwnKnob,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Together,
    Travel,
    Voice,
    allocate,
    allocate_many,
    allocate_request,
    audit,
    combine,
    edit,
    files,
    patch_sheet,
)
from knobpack.allocation import Tier
from knobpack.limits import Progress
from knobpack.many import Reply, Tally
from knobpack.questions import Budget, Here, NotThere, Unplaced
from knobpack.simulation import sweep
from knobpack.types import Record, Rule
from knobpack.words.edits import with_knobs

PATCH = """voice,input,sort,rank,from,to
Organ,drawbars,level,1,0,127
Organ,rotor,speed,3,0,64
Bass,cutoff,cutoff,2,127,0
Bass,level,level,1,,
"""
"""A format of the tool's own."""


def voices(text: str) -> Iterator[Voice]:
    """The voices of a patch in that format, one at a time."""
    inputs: dict[str, list[Destination]] = {}
    for row in csv.DictReader(io.StringIO(text)):
        travel = Travel(int(row["from"]), int(row["to"])) if row["from"] else None
        inputs.setdefault(row["voice"], []).append(
            Destination(row["input"], row["sort"], priority=int(row["rank"]), travel=travel)
        )
    for number, (name, own) in enumerate(inputs.items(), start=1):
        yield Voice(name, own, layer=number)


def rules(organ: Voice, words: Mapping[str, bool]) -> list[Rule]:
    """What the player ticked in the tool."""
    found: list[Rule] = []
    if words.get("organ by itself"):
        found.append(Alone([organ]))
    if words.get("organ as one"):
        found.append(Together(organ.full_name(each) for each in organ.destinations))
    return found


class Bar:
    """A progress bar that can be cancelled from another thread."""

    def __init__(self) -> None:
        self.told: list[Progress] = []
        self.stop = threading.Event()

    def __call__(self, progress: Progress) -> None:
        """Take what is known so far."""
        assert_type(progress.value, int | None)
        self.told.append(progress)


def best(given: Iterable[Voice], surface: Surface, asked: Iterable[Rule]) -> Allocation | str:
    """The best layout, or what the player is told in its place."""
    bar = Bar()
    try:
        found = allocate(given, surface, rules=asked, progress=bar, cancel=bar.stop.is_set)
    except ImpossibleDemands as error:
        assert_type(error.clash.instructions, tuple[str, ...])
        return f"That cannot be done: {error.clash.instructions[0]}."
    except InputError as error:
        return f"{error.field}: {error.right}"
    assert_type(found.tiers, tuple[Tier, ...])
    assert_type(found.routes, tuple[Route, ...])
    return found


def explained(found: Allocation) -> Iterator[str]:
    """What the tool shows beside each knob."""
    for record in found.to_records():
        assert_type(record, Record)
        name, knob = str(record["destination"]), record["knob"]
        here: Here | Unplaced = found.why(name, solve=False)
        yield here.sentences[0]
        for other in found.request.surface.knob_names if knob else ():
            if other != knob:
                there: NotThere = found.why_not(name, other)
                yield there.sentences[0]
    budget: Budget = found.knob_budget()
    yield f"{len(budget.families)} families, gap {found.gap:.0%}"


def kept(found: Allocation, folder: Path) -> Allocation:
    """An allocation that was saved and is loaded again, with its proofs."""
    path = folder / "evening.json"
    files.save(path, found)
    files.save(folder / "evening.graphml", found.graph)
    again = files.load(path)
    assert isinstance(again, Allocation)
    assert again == found
    try:
        files.load(folder / "no such file.json")
    except FileError as error:
        assert_type(error, FileError)
        print("not there:", Path(str(error.filename)).name)
    return again


def many(requests: Iterable[Request], executor: Executor | None = None) -> list[int]:
    """How many routes each request comes to; any executor will do, that of a cluster as well."""
    tallies: list[Tally] = []
    replies = allocate_many(requests, executor=executor, progress=tallies.append)
    assert_type(replies, tuple[Reply, ...])
    assert tallies[-1].answered == len(replies)
    return [len(reply.get().routes) for reply in replies]


async def beside(requests: Iterable[Request]) -> list[Allocation]:
    """Several requests at once while the loop goes on with other work."""
    return await asyncio.gather(*(asyncio.to_thread(allocate_request, each) for each in requests))


def journey(found: Allocation) -> Iterator[str]:
    """The whole job: combined with a base, edited, checked, heard, programmed."""
    base = Setup("Base", Surface.row(4), snapshots=[Snapshot("All")])
    result = combine(base, found.setup("Guest"))
    assert_type(result.setup, Setup)
    edited = edit(result.setup, OwnKnob("Organ/rotor")).setup
    yield f"{len(audit(edited).findings)} findings"
    yield f"{sweep(edited, edited.snapshots[-1].name).positions.shape[0]} positions"
    yield patch_sheet(base, edited).text().splitlines()[0]


def main() -> int:
    """Go through what an embedding tool needs."""
    organ, bass = voices(PATCH)
    surface = Surface.row(3)
    print(best([organ, bass], surface, [*rules(organ, {"organ as one": True}), Alone("Orgn")]))
    print(best([organ, bass], surface, [Together([organ, bass]), Alone(organ)]))
    found = best([organ, bass], surface, rules(organ, {"organ by itself": True}))
    if isinstance(found, str):
        return 1
    print(knobpack.__version__, found.proven, *(tier.value for tier in found.tiers))
    print(*explained(found), sep="\n")
    with tempfile.TemporaryDirectory() as folder:
        request = kept(found, Path(folder)).request
    wider = [with_knobs(request, more) for more in range(3)]
    with ProcessPoolExecutor(2) as processes:
        print(many(wider), many(wider, processes))
    with ThreadPoolExecutor(2) as threads:
        print(many(wider, threads))
    print([each.proven for each in asyncio.run(beside(wider))])
    print(request.least_knobs().sentences[0], request.every_clash().sentences[0])
    print(*journey(found), sep="\n")
    try:
        found.knob_of("Organ/rotr")
    except KnobpackError as error:
        print(error)
    return 0


if __name__ == "__main__":
    sys.exit(main())
