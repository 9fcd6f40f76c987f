"""Routes: what is amiss with routes, and with what they reach."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from knobpack.auditing import causes
from knobpack.auditing.findings import Finding
from knobpack.setup_as_read import Reading
from knobpack.words import Route
from knobpack.words.names import close, hint, knob_told, listed


def missing_ends(reading: Reading) -> Iterator[Finding]:
    """Routes that start or end at what is not there, each told once."""
    voices = {voice.name for voice in reading.setup.voices}
    groups = {group.name for group in reading.setup.groups}
    ends = {(route.knob, route.destination): route for route in reading.setup.routes}
    for route in ends.values():
        if route.knob not in reading.carries:
            yield Finding(
                causes.MISSING_KNOB,
                causes.WRONG,
                "route it from a knob of the surface, or take the route away",
                destinations=(route.destination,),
                missing=(route.knob,),
            )
        if route.destination not in reading.destinations:
            near = hint(_close(reading, route.destination))
            yield _missing_destination(route, voices, groups, near)


def _close(reading: Reading, name: str) -> list[str]:
    """What comes close to a destination that is not there: its voice first, then its own name."""
    voice, slash, inner = name.partition("/")
    has = {each.name: [other.name for other in each.destinations] for each in reading.setup.voices}
    if not slash:
        return close(name, reading.destinations)
    if voice in has:
        return [f"{voice}/{other}" for other in close(inner, has[voice])]
    return [f"{other}/{inner}" for other in close(voice, has) if inner in has[other]]


def _missing_destination(route: Route, voices: set[str], groups: set[str], near: str) -> Finding:
    voice, slash, _ = route.destination.partition("/")
    cause = causes.MISSING_DESTINATION
    if voice in voices:
        mend = f"route it to a destination that '{voice}' has, or take the route away"
    elif not slash:
        cause = cause if voice in groups else causes.MISSING_VOICE
        mend = "route it to a voice/destination, or take the route away"
    else:
        cause = causes.MISSING_VOICE
        mend = f"bring a voice '{voice}' that has it, or take the route away"
    return Finding(
        cause,
        causes.WRONG,
        mend + near,
        knobs=(route.knob,),
        voices=(voice,) if voice in voices else (),
        missing=(route.destination,),
    )


def repeated(reading: Reading) -> Iterator[Finding]:
    """Routes that are given more than once."""
    given = Counter((route.knob, route.destination) for route in reading.setup.routes)
    for (knob, name), times in given.items():
        if times > 1:
            yield Finding(
                causes.REPEATED,
                causes.DOUBTFUL,
                "keep it once",
                knobs=(knob,),
                destinations=(name,),
                numbers=(times,),
            )


def doubled(reading: Reading) -> Iterator[Finding]:
    """Destinations that more knobs than one drive: the last one turned wins, and it jumps."""
    works = {knob for play in reading.plays for knob in play.works}
    for name, knobs in reading.knobs_of.items():
        if len(knobs) > 1:
            # The one to keep is one that moves it, if any does.
            doing = (knob for knob in knobs if knob in works and name in reading.drives[knob])
            keep = next(doing, knobs[0])
            others = listed([knob for knob in knobs if knob != keep])
            yield Finding(
                causes.DOUBLED,
                causes.WRONG,
                f"keep {keep}, and take the route from {others} away",
                knobs=knobs,
                destinations=(name,),
            )


def unreached(reading: Reading) -> Iterator[Finding]:
    """Destinations that no knob of the surface is routed to, voice by voice."""
    for voice in reading.setup.voices:
        names = tuple(voice.full_name(inner) for inner in voice.destinations)
        left = tuple(name for name in names if not reading.knobs_of[name])
        if left:
            yield Finding(
                causes.UNREACHED,
                causes.DEAD,
                "route a knob to what is to be played, and leave the rest",
                destinations=left,
                voices=(voice.name,),
            )


def dead_knobs(reading: Reading) -> Iterator[Finding]:
    """Knobs that do nothing, or nothing with the master, though nothing they lead to is missing."""
    routed = {route.knob for route in reading.setup.routes}
    following = {knob for play in reading.plays for knob in play.follows}
    # A knob that is reserved or broken carries nothing on purpose.
    closed = {*reading.setup.surface.reserved, *(each.knob for each in reading.setup.broken)}
    for knob, names in reading.carries.items():
        if not names:
            if knob not in routed and knob not in closed:
                mend = "route a destination to it, or reserve it"
                yield Finding(causes.NO_ROUTE, causes.DEAD, mend, knobs=(knob,))
            continue
        if knob not in following and reading.drives[knob]:
            yield _for_the_hand(reading, knob, names)


def _for_the_hand(reading: Reading, knob: str, names: tuple[str, ...]) -> Finding:
    """What is told of a knob that does something and follows in no snapshot."""
    movable, fixed = reading.movable(names), reading.fixed(names)
    if not movable:
        them = "it" if len(names) == 1 else "them"
        mend = (
            f"leave it so, take the routes from {knob_told(knob)} away, or let {them} "
            f"be movable and name "
            f"{them} in a snapshot"
        )
        return Finding(causes.BY_HAND, causes.HAND, mend, knobs=(knob,), destinations=names)
    rest = f"let a snapshot move {listed(movable)}"
    if fixed:
        be = "is" if len(fixed) == 1 else "are"
        rest = f"route {listed(fixed)}, which {be} not movable, to another knob, and {rest}"
    mend = f"leave it so, or {rest}; or take the routes from {knob_told(knob)} away"
    return Finding(causes.NEVER_FOLLOWS, causes.HAND, mend, knobs=(knob,), destinations=names)
