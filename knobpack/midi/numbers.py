"""controller_numbers(): a controller number for every knob, without collision.

In this order: as few as can be are left with nothing; as few as can be are on parameters; both are
those that drive what matters least; as many as can be of those that are to send 14 bits do; as
few as can be change; the numbers mean as little else as can be
(:data:`knobpack.midi.control_change_table.BURDENS`). Each of these is a sum over the knobs, so
together they are an assignment, which a flow of least cost solves exactly. What knobs do not keep
is then chosen anew, no worse: the first row of neighbours that has room for them, else the longest
rows, dealt out in panel order.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import TypeAlias

from knobpack.errors import Fault
from knobpack.grouped import grouped
from knobpack.midi.control_change_table import ASSIGNABLE, BURDENS, USABLE
from knobpack.midi.knob_numbers import ControllerNumbers, KnobNumber, Room
from knobpack.midi.number_checker import number_breaches
from knobpack.midi.numbers_wanted import NumbersWanted, paired, wanted_of
from knobpack.midi.sent import Listening, Sent
from knobpack.words import Setup
from knobpack.words.knob_settings import LOW_HALF


def controller_numbers(
    setup: Setup,
    *,
    channel: int | None = None,
    listening: Iterable[Listening] = (),
    fine: bool = False,
    allowed: Iterable[int] = ASSIGNABLE,
    parameters: Iterable[tuple[int, int]] = (),
    previous: ControllerNumbers | None = None,
    master: bool = True,
) -> ControllerNumbers:
    """Choose a controller number for each knob that drives something, and for the master.

    A knob of which the setup says what it really sends (``sending``) keeps that, allowed or not and
    though a voice listens to it, be it led anywhere or not; numbers are chosen for the others.

    Collisions are about a channel: no two knobs send one number there, no knob sends what is
    reserved or a low half by itself, and none that is given a number sends what a voice on the
    channel listens to. Numbers of other channels do not matter. A knob sends on one channel: one
    that drives voices on several is left without a number, and the answer says so. What a knob
    sends reaches all that listens on its channel, whatever the setup routes.

    Args:
        setup: the setup. A knob drives something if a route that counts leads from it.
        channel: 1 to 256 (counted across Groups): where all is sent. None: what the setup says of
            its knobs and voices, and 1 where it says nothing; of the master the lowest of those.
        listening: what voices, of this setup or not, listen to already.
        fine: whether knobs of which nothing is known are to send 14 bits: a high half of 1 to 5 or
            7 to 31, and the low half, higher by 32. Where none is left, 7 bits on another number;
            the answer says so. The surface must have more than 7 bits.
        allowed: the numbers that may be used: of 1 to 5, 7 to 31, 64 to 95 and 102 to 119; the
            default leaves out the last, which receivers may ignore. What knobs really send is
            allowed besides.
        parameters: non-registered parameters (MSB, LSB), each 0 to 127, for what is left when the
            numbers run out, the first first; the same ones on every channel, but where a voice
            listens to what carries them (6, 38, 98 or 99), which gets none.
        previous: what was chosen before, to stay close to. Names that are not there are passed
            over, and so are channels.
        master: whether the master is sent, too: above all knobs, as it moves all that follow it.

    Returns:
        The numbers, checked; the same for the same input. As few knobs as can be are left with
        none, or on parameters, and those the least important; then as many as can be send 14 bits
        that are to; then as few as can be change; then the numbers mean as little else as can be.
        Where they run out, it says which knobs have none and what would give room.

    Raises:
        InputError: something given is not what it must be; or a number that a knob really sends
            is reserved or sent by two knobs on one channel.

    Source:
        MIDI 1.0 Detailed Specification, page 11 (classes of numbers, parameters) and page 12 (pairs
        of 14 bits); CA-022 / GM2 4.6.2 (what may be assigned); M2-117-UM 1.0 (channels). The table:
        :mod:`knobpack.midi.control_change_table`.

    Example:
        >>> from knobpack import Destination, Route, Setup, Surface, Voice
        >>> from knobpack.midi import Listening, controller_numbers
        >>> piano = Voice("Felt piano", (Destination("level"),), layer=1)
        >>> setup = Setup(
        ...     "Evening set",
        ...     Surface.row(2),
        ...     voices=(piano,),
        ...     routes=(Route("Felt piano/level", "K1"),),
        ... )
        >>> heard = Listening("Felt piano", channel=1, numbers=(14, 16))
        >>> found = controller_numbers(setup, listening=(heard,))
        >>> found.numbers, found.master_number
        ({'K1': 17}, 18)
        >>> found.why_not(16)
        '16 (General Purpose Controller 1) on channel 1: Felt piano listens to 16.'
    """
    wanted = wanted_of(setup, channel, listening, fine, allowed, parameters, previous, master)
    sent = {knob: each for on in wanted.channels for knob, each in numbers_on(wanted, on).items()}
    knobs = tuple(wanted.answered(each, sent.get(each.knob, Sent())) for each in wanted.knobs)
    _pass(wanted, knobs)
    heard = sorted({*wanted.channels, *(each.channel for each in wanted.listening)})
    return ControllerNumbers(
        setup=wanted.setup,
        knobs=knobs,
        allowed=wanted.allowed,
        closed=tuple(closed for each in heard for closed in wanted.closed(each)),
        room=tuple(_room(wanted, knobs)),
    )


def _pass(wanted: NumbersWanted, knobs: tuple[KnobNumber, ...]) -> None:
    """Let the plain checker pass an answer."""
    if broken := number_breaches(wanted, knobs):
        raise Fault(f"the numbers found do not pass the checker ({'; '.join(broken)})")


def _room(wanted: NumbersWanted, knobs: tuple[KnobNumber, ...]) -> Iterator[Room]:
    """What would give room, for each channel that something is left on."""
    for channel in wanted.channels:
        here = [each for each in knobs if each.channel == channel]
        left = tuple(each.knob for each in here if each.sent == Sent())
        if left:
            heard = [number for number in USABLE if wanted.heard_by(channel, number)]
            used = {each.sent.number for each in here}
            yield Room(
                channel=channel,
                left=left,
                allowing=tuple(n for n in USABLE if n not in wanted.allowed and n not in heard),
                listened=tuple(n for n in heard if n in wanted.allowed and n not in used),
                shut_by=wanted.shut_by(channel),
            )


Thing: TypeAlias = int | tuple[int, int] | None
"""What a knob is sent on: a controller number, a parameter, or nothing."""


def numbers_on(wanted: NumbersWanted, channel: int) -> dict[str, Sent]:
    """What each is sent on that is sent on a channel.

    Args:
        wanted: what is asked, on this channel and others.
        channel: the channel.
    """
    knobs, numbers = wanted.on(channel), wanted.open(channel)
    parameters = () if wanted.shut_by(channel) else wanted.parameters
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
