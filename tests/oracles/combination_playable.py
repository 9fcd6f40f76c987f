"""Whether all, the base and each source of a combination can be played, and under which names."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from knobpack.combination.answer import Combination
from knobpack.combination.report import Source
from knobpack.words import Setup, Snapshot
from tests.oracles.combination_sources import labels
from tests.oracles.playing import driven, follows, working
from tests.oracles.reading_setups import inner_of, knobs_of, moves


def playable(base: Setup, sources: Sequence[Source], found: Combination) -> Iterator[str]:
    """All, the base and each source can be played, as far as the surface stores snapshots."""
    now = found.setup
    works = {each.name: working(now, moves(now, each)) for each in now.snapshots}
    new = [each.name for each in now.snapshots[len(base.snapshots) :]]
    given = set(found.wanted.give_up)
    lost = () if found.gave_way is None else found.gave_way.alone
    full = now.surface.snapshots is not None and len(now.snapshots) >= now.surface.snapshots
    values = list(works.values())
    for name in new:
        if not works[name]:
            yield f"the snapshot {name} moves nothing"
    yield from own_names(base, found)
    own = set(inner_of(base))
    stored = base.snapshots or (Snapshot("assumed", tuple(v.name for v in base.voices)),)
    ours = frozenset().union(*(working(base, moves(base, each)) for each in stored))
    clean = {
        knob
        for knob in ours
        if all(
            inner_of(base)[r.destination].movable
            for r in base.routes
            if r.knob == knob and r.destination in own
        )
    }
    doubled = Counter(r.destination for r in set(base.routes) if r.knob in knobs_of(base))
    if full or given or found.wanted.free or any(n > 1 for n in doubled.values()):
        return
    theirs: set[str] = set()
    for source, label in zip(sources, labels(base, sources), strict=True):
        mine = moving(source, label, found)
        theirs |= mine
        knobs = working(now, mine)
        if (
            knobs
            and label not in lost
            and not any(
                set(moves(now, each)) & driven(now) & (own | set().union(*_others(found, label)))
                == set()
                and works[each.name] == knobs
                for each in now.snapshots
            )
        ):
            yield f"{label} cannot be played alone"
    everything = working(now, theirs) | clean
    if theirs and working(now, theirs) and not any(everything <= each for each in values):
        yield "no snapshot moves all"
    of = {voice.name: voice.source for voice in base.voices}
    on = [{of.get(r.destination.split("/")[0]) for r in base.routes if r.knob == k} for k in ours]
    shared = any(None in each and len(each) > 1 for each in on)
    if theirs and clean and working(now, theirs) and base.name not in lost and not shared:
        alone = [e for e in now.snapshots if not moves(now, e) & theirs and works[e.name] & ours]
        if not alone:
            yield "the base cannot be played alone"


def own_names(base: Setup, found: Combination) -> Iterator[str]:
    """A snapshot keeps its name but where another one has it, or it says all and moves less."""
    taken = {each.name for each in (*base.snapshots, *found.setup.snapshots)}
    taken |= {base.name, "All", "all", "everything"}
    wished = Counter(s.name for one in found.wanted.sources for s in one.setup.snapshots)
    for each in found.brought:
        free = each.old not in taken and wished[each.old] == 1
        if each.kind == "snapshot" and each.new != each.old and free:
            yield f"{each.source}: {each.old} is called {each.new}, though its name is free"


def _others(found: Combination, label: str) -> Iterator[set[str]]:
    for each in found.carried:
        if each.source != label:
            yield {each.full_name}


def moving(source: Source, label: str, found: Combination) -> set[str]:
    """What of a source follows in any of its snapshots, under its names now."""
    setup = source.setup
    stored = setup.snapshots or (Snapshot("assumed", tuple(v.name for v in setup.voices)),)
    inner = inner_of(found.setup)
    return {
        each.full_name
        for each in found.carried
        if each.source == label and inner[each.full_name].movable
        for snapshot in stored
        if (
            follows(setup, moves(setup, snapshot), each.old_knob)
            if each.old_knob
            else f"{each.voice}/{each.destination}" in moves(setup, snapshot)
        )
    }
