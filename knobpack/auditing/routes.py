"""Routes: what is amiss with routes, with the travels of knobs, and with what they reach."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from knobpack.auditing import causes
from knobpack.auditing.findings import Finding
from knobpack.reading import Reading, within
from knobpack.words import Route
from knobpack.words.naming import listed


def missing_ends(reading: Reading) -> Iterator[Finding]:
    """Routes that start or end at what is not there, each told once."""
    voices = {voice.name for voice in reading.setup.voices}
    groups = {group.name for group in reading.setup.groups}
    for route in dict.fromkeys(reading.setup.routes):
        if route.knob not in reading.carries:
            yield Finding(
                causes.MISSING_KNOB,
                causes.WRONG,
                "route it from a knob of the surface, or take the route away",
                destinations=(route.destination,),
                missing=(route.knob,),
            )
        if route.destination not in reading.destinations:
            yield _missing_destination(route, voices, groups)


def _missing_destination(route: Route, voices: set[str], groups: set[str]) -> Finding:
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
        mend,
        knobs=(route.knob,),
        voices=(voice,) if voice in voices else (),
        missing=(route.destination,),
    )


def repeated(reading: Reading) -> Iterator[Finding]:
    """Routes that are given more than once."""
    for route, times in Counter(reading.setup.routes).items():
        if times > 1:
            yield Finding(
                causes.REPEATED,
                causes.DOUBTFUL,
                "keep it once",
                knobs=(route.knob,),
                destinations=(route.destination,),
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


def travels(reading: Reading) -> Iterator[Finding]:
    """Travels that cannot be, of knobs or wanted by destinations."""
    top = reading.setup.surface.top
    for each in reading.setup.travels:
        numbers = (each.travel.start, each.travel.end)
        if each.knob not in reading.travels:
            yield Finding(
                causes.STRAY_TRAVEL,
                causes.WRONG,
                "set it for a knob of the surface, or take it away",
                missing=(each.knob,),
                numbers=numbers,
            )
        elif not within(each.travel, top):
            yield Finding(
                causes.OUTSIDE,
                causes.WRONG,
                f"set start and end anew, apart and from 0 to {top}",
                knobs=(each.knob,),
                destinations=reading.carries[each.knob],
                numbers=(*numbers, top),
            )
    for name, inner in reading.destinations.items():
        if inner.travel is not None and not within(inner.travel, top):
            yield Finding(
                causes.WISH_OUTSIDE,
                causes.DOUBTFUL,
                f"let it want a travel from 0 to {top}",
                destinations=(name,),
                numbers=(inner.travel.start, inner.travel.end, top),
            )


def dead_knobs(reading: Reading) -> Iterator[Finding]:
    """Knobs that do nothing, or nothing with the master, though nothing they lead to is missing."""
    routed = {route.knob for route in reading.setup.routes}
    following = {knob for play in reading.plays for knob in play.follows}
    reserved = set(reading.setup.surface.reserved)
    for knob, names in reading.carries.items():
        travel = reading.travels[knob]
        if not names:
            if knob not in routed and knob not in reserved:
                mend = "route a destination to it, or reserve it"
                yield Finding(causes.NO_ROUTE, causes.DEAD, mend, knobs=(knob,))
            continue
        if travel.empty:
            yield Finding(
                causes.EMPTY_TRAVEL,
                causes.DEAD,
                "set start and end apart",
                knobs=(knob,),
                destinations=names,
                numbers=(travel.start, travel.end),
            )
        elif knob not in following and reading.drives[knob]:
            yield _for_the_hand(reading, knob, names)


def _for_the_hand(reading: Reading, knob: str, names: tuple[str, ...]) -> Finding:
    """What is told of a knob that does something and follows in no snapshot."""
    movable, fixed = reading.movable(names), reading.fixed(names)
    if not movable:
        them = "it" if len(names) == 1 else "them"
        mend = (
            f"leave it so, take the routes from {knob} away, or let {them} be movable and name "
            f"{them} in a snapshot"
        )
        return Finding(causes.BY_HAND, causes.HAND, mend, knobs=(knob,), destinations=names)
    rest = f"let a snapshot move {listed(movable)}"
    if fixed:
        be = "is" if len(fixed) == 1 else "are"
        rest = f"route {listed(fixed)}, which {be} not movable, to another knob, and {rest}"
    mend = f"leave it so, or {rest}; or take the routes from {knob} away"
    return Finding(causes.NEVER_FOLLOWS, causes.HAND, mend, knobs=(knob,), destinations=names)


def one_step(reading: Reading) -> Iterator[Finding]:
    """Stepped destinations whose knob goes somewhere, but not as far as to another step."""
    for knob, names in reading.carries.items():
        still = tuple(name for name in names if name not in reading.drives[knob])
        if still and not reading.goes[knob].empty:
            travel = reading.travels[knob]
            yield Finding(
                causes.ONE_STEP,
                causes.DEAD,
                "set start and end further apart",
                knobs=(knob,),
                destinations=still,
                numbers=(travel.start, travel.end),
            )
