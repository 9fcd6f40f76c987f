"""Change: what jumps when another snapshot is recalled, the master standing still.

The model (common practice, no source):

- While a snapshot is in force, the knobs that follow in it stand where the master puts them; every
  other knob stands where the snapshot puts it, or where the hand has put it since.
- Recalling ``after`` puts every knob that follows in it where the master puts it, at once, and
  every other knob where that snapshot puts it.
- Where a snapshot does not say where a knob stands, that is not known, and nothing is assumed: it
  may be anywhere from 0 to the highest position. The jump that is told is the worst there can be,
  from where it left to where it lands. Only if the same snapshot is recalled again it is known that
  what stands at an unknown place goes to that same place.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from itertools import permutations

from knobpack.setups.as_read import Play, Reading, read
from knobpack.setups.response import Receiver, Response, position_at, receivers
from knobpack.simulation.given import by_hand, snapshot_named
from knobpack.simulation.jump import Jump
from knobpack.words import Route, Setup, Snapshot, fields
from knobpack.words.names import voice_part


def change(
    setup: Setup,
    before: str | Snapshot,
    after: str | Snapshot,
    master: int,
    *,
    start: Mapping[str, int] | None = None,
    responses: Mapping[str, Response] | None = None,
) -> tuple[Jump, ...]:
    """What every destination does when a snapshot is recalled while another was in force.

    Args:
        setup: what is programmed. Its faults are taken as a sweep takes them.
        before: the snapshot that was in force, or its name.
        after: the snapshot that is recalled, or its name.
        master: where the master stands, 0 to 2**bits - 1.
        start: for each name of a knob where it stands that was held in ``before``, 0 to 2**bits -
            1, in place of where that snapshot puts it.
        responses: what a destination makes of the position, by full name; without one it receives
            the share of full travel, 0 to 1.

    Returns:
        One Jump for each route that leads from a knob to a destination (so two for a destination
        that two knobs drive), those that jump furthest first: by share, then level-like kinds,
        then the most important, then in the order of the routes. What no route reaches is left
        out, and what a voice does that is silent in one of the two: no one hears it jump.

    Raises:
        InputError: an argument is of another type or out of range, or names what the setup does
            not have.

    Example:
        >>> from knobpack import Destination, KnobPosition, KnobTravel, Route, Setup, Snapshot
        >>> from knobpack import Surface, Travel, Voice
        >>> from knobpack.simulation import change
        >>> piano = Voice("Felt piano", (Destination("level"),), layer=1)
        >>> setup = Setup(
        ...     "Evening set",
        ...     Surface.row(2),
        ...     voices=(piano,),
        ...     routes=(Route("Felt piano/level", "K1"),),
        ...     travels=(KnobTravel("K1", Travel(20, 100)),),
        ...     snapshots=(
        ...         Snapshot("Swell", ("Felt piano",)),
        ...         Snapshot("Still", positions=(KnobPosition("K1", 20),)),
        ...     ),
        ... )
        >>> (jump,) = change(setup, "Still", "Swell", master=127)
        >>> jump.from_position, jump.to_position, jump.percent
        (20, 100, 63)
    """
    reading = read(setup, "change.setup")
    one = reading.play(snapshot_named("change.before", reading, before))
    other = reading.play(snapshot_named("change.after", reading, after))
    fields.check_whole("change.master", master, 0, setup.surface.top)
    hand = by_hand("change.start", reading, start)
    ends = receivers("change.responses", reading, responses)
    states = _State(reading, one, hand), _State(reading, other, {})
    return _ranked(
        reading,
        (
            _jump(reading, route, end, states, master)
            for route, end in zip(reading.routes, ends, strict=True)
            if not any(voice_part(route.destination) in state.silent for state in states)
        ),
    )


def worst_changes(
    setup: Setup,
    *,
    start: Mapping[str, int] | None = None,
    responses: Mapping[str, Response] | None = None,
) -> tuple[Jump, ...]:
    """The largest jump of each destination over all changes of snapshot and all of the master.

    It is exact at any resolution, though only the two ends of the master are looked at: where the
    master puts a knob never turns back as the master rises, nor does what the destination makes of
    it (steps and curves are monotone), so one of the ends is the furthest away. For the same reason
    only the lowest and the highest of all stored positions of a knob count.

    Args:
        setup: what is programmed.
        start: for each name of a knob where it stands whenever a snapshot is left that held it, 0
            to 2**bits - 1, in place of where that snapshot puts it.
        responses: what a destination makes of the position, by full name.

    Returns:
        As of :func:`change`, each Jump with a pair of different snapshots and an end of the master
        where it occurs; of equal ones one that is known. Nothing of a voice that sounds in fewer
        than two snapshots.

    Raises:
        InputError: an argument is of another type or out of range, or names what the setup does
            not have.

    Example:
        >>> from knobpack import Destination, KnobTravel, Route, Setup, Snapshot
        >>> from knobpack import Surface, Travel, Voice
        >>> from knobpack.simulation import worst_changes
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
        ('Swell', 'Still', 0, 84)
        >>> worst.from_position, worst.to_position, worst.to_known
        (20, 127, False)
    """
    reading = read(setup, "worst_changes.setup")
    hand = by_hand("worst_changes.start", reading, start)
    ends = receivers("worst_changes.responses", reading, responses)
    if len(setup.snapshots) < 2:
        return ()
    left = [_State(reading, play, hand) for play in reading.plays]
    met = [_State(reading, play, {}) for play in reading.plays]

    @cache
    def heard(voice: str) -> tuple[int, ...]:
        """The places of the snapshots that a voice sounds in."""
        return tuple(place for place, state in enumerate(met) if voice not in state.silent)

    @cache
    def telling(knob: str, places: tuple[int, ...]) -> list[int]:
        return [places[at] for at in _telling(knob, [met[place] for place in places])]

    found = []
    for route, end in zip(reading.routes, ends, strict=True):
        places = heard(voice_part(route.destination))
        if len(places) > 1:
            jumps = (
                _jump(reading, route, end, (left[one], met[other]), master)
                for one, other in permutations(telling(route.knob, places), 2)
                for master in (0, setup.surface.top)
            )
            found.append(max(jumps, key=lambda jump: (jump.share, jump.known)))
    return _ranked(reading, found)


class _State:
    """A snapshot in force, and where the hand has put knobs since that are held in it."""

    def __init__(self, reading: Reading, play: Play, hand: dict[str, int]) -> None:
        self.name = play.snapshot.name
        self.silent = frozenset(play.snapshot.silent)
        self.follows = frozenset(play.follows)
        self.stands = reading.stands(play) | hand


def _telling(knob: str, states: Sequence[_State]) -> list[int]:
    """The places of the snapshots among which a worst change of a knob can be."""
    follow, unknown, known = [], [], {}
    for place, state in enumerate(states):
        if knob in state.follows:
            follow.append(place)
        elif knob in state.stands:
            known[place] = state.stands[knob]
        else:
            unknown.append(place)
    outer = [pick(known, key=known.__getitem__) for pick in (min, max) if known]
    # Two of each sort, as a change is of two and the hand may have been at either.
    return sorted({0, 1, *follow[:2], *unknown[:2], *list(known)[:2], *outer})


def _jump(
    reading: Reading, route: Route, end: Receiver, states: tuple[_State, _State], master: int
) -> Jump:
    """What one route does from one snapshot to another, the master standing at ``master``."""
    before, after = states
    top = reading.setup.surface.top
    travel = reading.goes[route.knob]
    put = position_at(travel, master, top)
    left, met = (
        put if route.knob in state.follows else state.stands.get(route.knob) for state in states
    )
    if left is None and met is None and before.name == after.name:
        old = new = travel.start  # wherever it is: it goes there again
    else:
        froms, tos = ((0, top) if at is None else (at,) for at in (left, met))
        old, new = max(
            ((one, other) for one in froms for other in tos), key=lambda way: end.share(*way)
        )
    return Jump(
        destination=route.destination,
        kind=reading.destinations[route.destination].kind,
        knob=route.knob,
        before=before.name,
        after=after.name,
        master=master,
        top=top,
        from_position=old,
        to_position=new,
        from_received=end.received(old),
        to_received=end.received(new),
        share=end.share(old, new),
        from_known=left is not None,
        to_known=met is not None,
    )


def _ranked(reading: Reading, jumps: Iterable[Jump]) -> tuple[Jump, ...]:
    inner = reading.destinations

    def rank(jump: Jump) -> tuple[float, bool, int]:
        return -jump.share, not jump.level_like, inner[jump.destination].priority

    return tuple(sorted(jumps, key=rank))
