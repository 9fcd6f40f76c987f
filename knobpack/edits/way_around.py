"""Way around: what to do before an edit so that what comes to a knob turns nothing round there."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import attrs

from knobpack.checked_search import allocate_during
from knobpack.clash import ImpossibleDemands
from knobpack.definition.phrases import many
from knobpack.edits.answer import Edited
from knobpack.edits.made import knob_of
from knobpack.edits.solution import moves_between
from knobpack.errors import NoLayoutFound
from knobpack.grouped import grouped
from knobpack.limits import Run
from knobpack.setups.as_read import Reading, read
from knobpack.words import Barred
from knobpack.words.names import knob_told, listed
from knobpack.words.setup_edits import Edit, OnKnob


def way_around_told(
    reading: Reading, what: Edit, done: Edited, do: Callable[[Reading, Edit, Run], Edited], run: Run
) -> Iterator[str]:
    """How what an edit made alarming on a knob stays as it was, if what came there goes elsewhere.

    Where that is best is solved for; then it is done, and the edit after it, and looked at.

    Args:
        reading: the setup as it was.
        what: the edit.
        done: what came of it.
        do: does an edit.
        run: what may cut it short.

    Yields:
        For each such knob a sentence with the edit that is to come first, and with what it costs.
    """
    asked, was = done.allocation.request, knob_of(reading)
    for knob, alarming in grouped((m.knob, m.destination) for m in done.alarming).items():
        moved = [each.destination for each in done.moved if each.after == knob]
        came = tuple(name for name in moved if name not in asked.edited)
        stays = [name for name in alarming if name not in moved]
        if not came or not stays or run.stopped:
            continue
        request = attrs.evolve(asked, rules=(*asked.rules, Barred(came, (knob,))))
        try:
            places = {allocate_during(request, run).knob_of(name) for name in came}
            to = places.pop()
            if places or to is None:
                continue
            first = do(reading, OnKnob(came, to), run)
            then = do(read(first.setup), what, run)
        except (ImpossibleDemands, NoLayoutFound):
            continue
        moved_in_all = moves_between(reading.knobs_of, then.setup)
        whole = attrs.evolve(then, before=reading.setup, moved=moved_in_all)
        lost = set(whole.left_out) - set(done.left_out) or first.left_out
        if lost or len(whole.alarming) >= len(done.alarming):
            continue
        other = read(done.setup).carries
        joined = [
            f"{knob_told(on)} drives {listed(names)}"
            for on, names in read(then.setup).carries.items()
            if names != other[on] and len({was.get(name) for name in names}) > 1
        ]
        moves = f"{many(len(whole.moved), 'route')} move{'s' * (len(whole.moved) == 1)} in all"
        stay = "stays as it was" if len(stays) == 1 else "stay as they were"
        yield (
            f"Put {listed(came)} on {knob_told(to)} first, and {listed(stays)} {stay}: "
            f"{', and '.join([moves, *joined])}."
        )
