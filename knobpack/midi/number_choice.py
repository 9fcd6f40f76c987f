"""Number choice: which number each knob of a channel is sent on.

In this order: as few as can be are left with nothing; as few as can be are on parameters; both are
those that drive what matters least; as many as can be of those that are to send 14 bits do; as
few as can be change; the numbers mean as little else as can be
(:data:`knobpack.midi.control_change_table.BURDENS`). Each of these is a sum over the knobs, so
together they are an assignment, which a flow of least cost solves exactly. What knobs do not keep
is then chosen anew, no worse: the first row of neighbours that has room for them, else the longest
rows, dealt out in panel order.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import TypeAlias

from knobpack.errors import Fault
from knobpack.grouped import grouped
from knobpack.midi.control_change_table import BURDENS
from knobpack.midi.knob_numbers import KnobNumber
from knobpack.midi.numbers_wanted import NumbersWanted, paired
from knobpack.midi.sent import Sent
from knobpack.words.knob_settings import LOW_HALF

Thing: TypeAlias = int | tuple[int, int] | None
"""What a knob is sent on: a controller number, a parameter, or nothing."""


def numbers_on(wanted: NumbersWanted, channel: int) -> dict[str, Sent]:
    """What each is sent on that is sent on a channel.

    Args:
        wanted: what is asked, on this channel and others.
        channel: the channel.
    """
    knobs, numbers = wanted.on(channel), wanted.open(channel)
    parameters = wanted.offered(channel)
    free = [each for each in knobs if not each.own]
    found = _settled(wanted, free, _assigned(wanted, free, numbers, parameters))
    fixed: dict[str, Thing] = {each.knob: each.sent.number for each in knobs if each.own}
    fixed |= {each.knob: found[each.knob] for each in free if _keeps(each, found[each.knob])}
    unused = iter([each for each in parameters if each not in fixed.values()])
    takers = {}
    for each in free:
        thing = found[each.knob]
        if isinstance(thing, int) and each.knob not in fixed:
            takers[each.knob] = each.fine
        elif each.knob not in fixed:
            fixed[each.knob] = next(unused) if thing else None
    count = sum(fine and _pair(found[who]) for who, fine in takers.items())
    pairs = [who for who, fine in takers.items() if fine][:count]
    fixed |= _dealt(takers, pairs, [n for n in numbers if n not in fixed.values()])
    return {each.knob: _sent(fixed[each.knob], each.fine) for each in knobs}


def _sent(thing: Thing, fine: bool) -> Sent:
    return paired(thing, fine) if isinstance(thing, int) else Sent(parameter=thing)


def _had(knob: KnobNumber) -> Thing:
    """What a knob was sent on before; None: nothing, or nothing is known."""
    return None if knob.before is None else knob.before.parameter or knob.before.number


def _keeps(knob: KnobNumber, thing: Thing) -> bool:
    return knob.before is not None and _had(knob) == thing


def _pair(thing: Thing) -> bool:
    return isinstance(thing, int) and thing < LOW_HALF


def _cost(knob: KnobNumber, standing: int, thing: Thing) -> tuple[int, int, int, int]:
    """What it costs to send a knob on something: priority, 14 bits, change, meaning."""
    changes = knob.before is not None and not _keeps(knob, thing)
    if isinstance(thing, int):
        return 0, knob.fine and not _pair(thing), changes, BURDENS[thing]
    return (standing, 0, changes, 0) if thing else (2 * standing, knob.fine, changes, 0)


def _assigned(
    wanted: NumbersWanted,
    knobs: Sequence[KnobNumber],
    numbers: Sequence[int],
    parameters: Sequence[tuple[int, int]],
) -> dict[str, Thing]:
    """The assignment of least cost: the costs compared in order, and nothing had twice."""
    from ortools.graph.python import min_cost_flow  # type: ignore[import-untyped]

    count = len(knobs)
    on_numbers = min(count, len(numbers))
    on_parameters = min(count - on_numbers, len(parameters))
    left = count - on_numbers - on_parameters
    had = {_had(each) for each in knobs}
    offered = [each for at, each in enumerate(parameters) if at < on_parameters or each in had]
    kinds: list[tuple[Sequence[Thing], int]] = [
        (numbers, on_numbers),
        (offered, on_parameters),
        ([None] * left, left),
    ]
    things = [thing for kind, _ in kinds for thing in kind]
    # Of a tier no more than so much can come about for the knobs together.
    scale = [1]
    for most in (max(BURDENS.values()), 1, 1):
        scale.insert(0, scale[0] * (most * count + 1))
    flow = min_cost_flow.SimpleMinCostFlow()
    for at, each in enumerate(knobs):
        flow.set_node_supply(at, 1)
        for node, thing in enumerate(things, count):
            costs = _cost(each, wanted.standing[each.knob], thing)
            cost = sum(n * points for n, points in zip(scale, costs, strict=True))
            flow.add_arc_with_capacity_and_unit_cost(at, node, 1, cost)
    node, sink = count, count + len(things)
    for kind, taken in kinds:
        for _ in kind:
            flow.add_arc_with_capacity_and_unit_cost(node, sink, 1, 0)
            node += 1
        flow.set_node_supply(sink, -taken)
        sink += 1
    if flow.solve() != flow.OPTIMAL:
        raise Fault("no controller numbers were found, though there always are some")
    return {
        knobs[flow.tail(arc)].knob: things[flow.head(arc) - count]
        for arc in range(flow.num_arcs())
        if flow.flow(arc) and flow.tail(arc) < count
    }


def _settled(
    wanted: NumbersWanted, knobs: Sequence[KnobNumber], found: Mapping[str, Thing]
) -> dict[str, Thing]:
    """The same, but of knobs that are alike the first have numbers, and the last have nothing.

    That changes no cost: what is kept stays.
    """
    alike = grouped(
        ((wanted.standing[each.knob], each.fine), each.knob)
        for each in knobs
        if not _keeps(each, found[each.knob])
    )
    settled = dict(found)
    for names in alike.values():
        things = [found[who] for who in names]
        things.sort(key=lambda each: (each is None, isinstance(each, tuple)))
        settled |= dict(zip(names, things, strict=True))
    return settled


def _dealt(
    takers: Collection[str], pairs: Collection[str], numbers: Sequence[int]
) -> dict[str, int]:
    """A number for each taker, in order.

    Args:
        takers: those that take one, in panel order.
        pairs: those of them that take one of a pair.
        numbers: those that are left to choose from, ascending.
    """
    rows: list[list[int]] = []
    for number in numbers:
        if rows and rows[-1][-1] == number - 1 and BURDENS[rows[-1][-1]] == BURDENS[number]:
            rows[-1].append(number)
        else:
            rows.append([number])
    enough = len(takers)
    rows.sort(key=lambda row: (BURDENS[row[0]], -min(len(row), enough)))
    ranked = [number for row in rows for number in row]
    needed = list(filter(_pair, ranked))[: len(pairs)]
    others = [number for number in ranked if number not in needed][: len(takers) - len(needed)]
    chosen = sorted((*needed, *others))
    high, rest = list(filter(_pair, chosen)), [each for each in chosen if not _pair(each)]
    spare, dealt = len(high) - len(pairs), {}
    for who in takers:
        spare -= who not in pairs
        dealt[who] = (high if who in pairs or spare >= 0 else rest).pop(0)
    return dealt
