"""Change: what jumps when another snapshot is recalled, the master standing still.

The model (common practice, no source):

- While snapshot ``before`` is in force, the knobs that follow in it stand where the master puts
  them; every other knob stands where it was, by default at the start of its travel.
- Recalling ``after`` puts every knob that follows in it where the master puts it, at once. One that
  did not follow before jumps there. One that did is there already.
- A knob that does not follow in ``after`` stays where it is: it is held, and does not jump.

So a knob jumps only where it is held before and follows after, and its jump does not depend on
anything else in the two snapshots.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import attrs

from knobpack.errors import InputError
from knobpack.reading import Reading, read
from knobpack.simulation.given import placed, snapshot_named
from knobpack.simulation.response import Receiver, Response, position_at, receivers
from knobpack.wording import CAUTION, level_like
from knobpack.words import Route, Setup, Snapshot, fields
from knobpack.words.fields import as_tuple, check_kind
from knobpack.words.naming import listed


@attrs.frozen
class Jump:
    """What one destination does at the recall of a snapshot, through one knob.

    Args:
        destination: its full name.
        kind: what it controls.
        knob: the knob that drives it.
        before: the name of the snapshot that was in force.
        after: the name of the snapshot that is recalled.
        master: the position of the master, 0 to ``top``.
        top: the highest position, 2**bits - 1.
        from_position: where the knob stood, 0 to ``top``.
        to_position: where it stands now, 0 to ``top``.
        from_received: what the destination received: 0 to 1 of full travel, or in the unit of its
            response.
        to_received: what it receives now, likewise.
        share: how far it jumps, as a share of all that it can receive: 0 none, 1 from end to end.
    """

    destination: str
    kind: str
    knob: str
    before: str
    after: str
    master: int
    top: int
    from_position: int
    to_position: int
    from_received: float
    to_received: float
    share: float

    @property
    def level_like(self) -> bool:
        """Whether the kind can change how loud a voice is."""
        return level_like(self.kind)

    @property
    def percent(self) -> int:
        """The share in hundredths, to the nearest, but 1 where it is less and not nothing."""
        return max(int(100 * self.share + 0.5), int(self.share > 0))

    @property
    def sentences(self) -> tuple[str, ...]:
        """What jumps and why, and a caution where it can be loud."""
        return jump_sentences((self,))

    def __str__(self) -> str:
        return self.sentences[0]


def jump_sentences(jumps: Iterable[Jump]) -> tuple[str, ...]:
    """Jumps in sentences: knob by knob, in their order; at the end what is still, and a caution.

    Args:
        jumps: what :func:`change` or :func:`worst_changes` gave back, or some of it.

    Returns:
        The sentences; of no jumps, none.

    Raises:
        InputError: it is no list of Jumps.

    Example:
        >>> from knobpack import Destination, KnobTravel, Route, Setup, Snapshot
        >>> from knobpack import Surface, Travel, Voice, change, jump_sentences
        >>> piano = Voice("Felt piano", (Destination("level"),), layer=1)
        >>> setup = Setup(
        ...     "Evening set",
        ...     Surface.row(2),
        ...     voices=(piano,),
        ...     routes=(Route("Felt piano/level", "K1"),),
        ...     travels=(KnobTravel("K1", Travel(20, 100)),),
        ...     snapshots=(Snapshot("Swell", ("Felt piano",)), Snapshot("Still")),
        ... )
        >>> print(*jump_sentences(change(setup, "Swell", "Still", master=127)))
        Felt piano/level does not jump.
    """
    each = as_tuple(jumps)
    if not isinstance(each, tuple):
        raise InputError("jump_sentences.jumps", jumps, "give a list of Jumps")
    for at, jump in enumerate(each):
        check_kind(f"jump_sentences.jumps[{at}]", jump, Jump)
    moving = [jump for jump in each if jump.share > 0]
    together: dict[str, list[str]] = {}
    for jump in moving:
        when = f"{jump.after!r} after {jump.before!r} with the master at {jump.master}"
        goes = f"{jump.knob} goes from {jump.from_position} to {jump.to_position} at once"
        others = together.setdefault(f"{when}: {goes}", [])
        verb = "" if others else "jumps "
        others.append(f"{jump.destination} {verb}by {jump.percent} %")
    found = [f"{why}; {listed(far)} of full range." for why, far in together.items()]
    jumping = {jump.destination for jump in moving}
    still = dict.fromkeys(jump.destination for jump in each if jump.destination not in jumping)
    if still:
        verb = "does" if len(still) == 1 else "do"
        found.append(f"{listed(list(still))} {verb} not jump.")
    loud = dict.fromkeys(jump.destination for jump in moving if jump.level_like)
    if loud:
        verb = "jumps" if len(loud) == 1 else "jump"
        found.append(f"{listed(list(loud))} {verb}: levels, or what can change them. {CAUTION}")
    return tuple(found)


def change(
    setup: Setup,
    before: str,
    after: str,
    master: int,
    *,
    start: Mapping[str, int] | None = None,
    responses: Mapping[str, Response] | None = None,
) -> tuple[Jump, ...]:
    """What every destination does when a snapshot is recalled while another was in force.

    Args:
        setup: what is programmed. Its faults are taken as a sweep takes them.
        before: the name of the snapshot that was in force.
        after: the name of the snapshot that is recalled.
        master: where the master stands, 0 to 2**bits - 1.
        start: for each name of a knob where it stands that was held in ``before``, 0 to 2**bits -
            1; at the start of its travel if it is not given.
        responses: what a destination makes of the position, by full name; without one it receives
            the share of full travel, 0 to 1.

    Returns:
        One Jump for each route that leads from a knob to a destination (so two for a destination
        that two knobs drive), those that jump furthest first: by share, then level-like kinds,
        then in the order of the routes. What no route reaches is left out.

    Raises:
        InputError: an argument is of another type or out of range, or names what the setup does
            not have.

    Example:
        >>> from knobpack import Destination, KnobTravel, Route, Setup, Snapshot
        >>> from knobpack import Surface, Travel, Voice, change
        >>> piano = Voice("Felt piano", (Destination("level"),), layer=1)
        >>> setup = Setup(
        ...     "Evening set",
        ...     Surface.row(2),
        ...     voices=(piano,),
        ...     routes=(Route("Felt piano/level", "K1"),),
        ...     travels=(KnobTravel("K1", Travel(20, 100)),),
        ...     snapshots=(Snapshot("Swell", ("Felt piano",)), Snapshot("Still")),
        ... )
        >>> (jump,) = change(setup, "Still", "Swell", master=127)
        >>> jump.from_position, jump.to_position, jump.percent
        (20, 100, 63)
    """
    reading = read(setup, "change(setup)")
    one = snapshot_named("change(before)", reading, before)
    other = snapshot_named("change(after)", reading, after)
    fields.check_whole("change(master)", master, 0, setup.surface.top)
    standing = placed("change(start)", reading, start)
    ends = receivers("change(responses)", reading, responses)
    follow = reading.play(one).follows, reading.play(other).follows
    return _ranked(
        _jump(
            reading,
            route,
            end,
            (one, other),
            (route.knob in follow[0], route.knob in follow[1]),
            (master, standing[route.knob]),
        )
        for route, end in zip(reading.routes, ends, strict=True)
    )


def worst_changes(
    setup: Setup,
    *,
    start: Mapping[str, int] | None = None,
    responses: Mapping[str, Response] | None = None,
) -> tuple[Jump, ...]:
    """The largest jump of each destination over all changes of snapshot and all of the master.

    It is exact at any resolution, though only the two ends of the master are looked at: from where
    a knob was held it jumps to where the master puts it, that place never turns back as the master
    rises, nor does what the destination makes of it (steps and curves are monotone), so one of the
    ends is the furthest away. Nor does it get any worse if the knobs were held elsewhere on their
    travel: where ``start`` is not given, the jump is over the whole travel.

    Args:
        setup: what is programmed.
        start: for each name of a knob where it stands that is held, 0 to 2**bits - 1; at the start
            of its travel if it is not given.
        responses: what a destination makes of the position, by full name.

    Returns:
        As of :func:`change`, each Jump with a pair of snapshots and a position of the master where
        it occurs: the first pair, in the setup's order, and the lowest end of the master. Nothing
        where there are fewer than two snapshots.

    Raises:
        InputError: an argument is of another type or out of range, or names what the setup does
            not have.

    Example:
        >>> from knobpack import Destination, KnobTravel, Route, Setup, Snapshot
        >>> from knobpack import Surface, Travel, Voice, worst_changes
        >>> piano = Voice("Felt piano", (Destination("level"),), layer=1)
        >>> setup = Setup(
        ...     "Evening set",
        ...     Surface.row(2),
        ...     voices=(piano,),
        ...     routes=(Route("Felt piano/level", "K1"),),
        ...     travels=(KnobTravel("K1", Travel(20, 100)),),
        ...     snapshots=(Snapshot("Swell", ("Felt piano",)), Snapshot("Still")),
        ... )
        >>> (worst,) = worst_changes(setup)
        >>> worst.before, worst.after, worst.master, worst.percent
        ('Still', 'Swell', 127, 63)
    """
    reading = read(setup, "worst_changes(setup)")
    standing = placed("worst_changes(start)", reading, start)
    ends = receivers("worst_changes(responses)", reading, responses)
    if len(setup.snapshots) < 2:
        return ()
    follows = [frozenset(play.follows) for play in reading.plays]
    found = []
    for route, end in zip(reading.routes, ends, strict=True):
        follow = [route.knob in knobs for knobs in follows]
        # Held before and following after; where no two are so, the first two, that do not jump.
        changes = all(each in follow for each in (False, True))
        one, other = (follow.index(False), follow.index(True)) if changes else (0, 1)
        pair = setup.snapshots[one], setup.snapshots[other]
        at_ends = (
            _jump(
                reading,
                route,
                end,
                pair,
                (follow[one], follow[other]),
                (master, standing[route.knob]),
            )
            for master in (0, setup.surface.top)
        )
        found.append(max(at_ends, key=lambda jump: jump.share))
    return _ranked(found)


def _jump(
    reading: Reading,
    route: Route,
    end: Receiver,
    pair: tuple[Snapshot, Snapshot],
    follow: tuple[bool, bool],
    at: tuple[int, int],
) -> Jump:
    """What one route does; ``at`` is where the master stands, and the knob if it was held."""
    master, held = at
    top = reading.setup.surface.top
    put = position_at(reading.goes[route.knob], master, top)
    old = put if follow[0] else held
    new = put if follow[1] else old
    return Jump(
        destination=route.destination,
        kind=reading.destinations[route.destination].kind,
        knob=route.knob,
        before=pair[0].name,
        after=pair[1].name,
        master=master,
        top=top,
        from_position=old,
        to_position=new,
        from_received=end.received(old),
        to_received=end.received(new),
        share=end.share(old, new),
    )


def _ranked(jumps: Iterable[Jump]) -> tuple[Jump, ...]:
    return tuple(sorted(jumps, key=lambda jump: (-jump.share, not jump.level_like)))
