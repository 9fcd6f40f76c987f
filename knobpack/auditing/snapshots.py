"""Snapshots: what is amiss with snapshots and with the groups that they name."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from knobpack.auditing import causes
from knobpack.auditing.findings import Finding
from knobpack.grouped import grouped
from knobpack.setups.as_read import Play, Reading, TornKnob
from knobpack.words.names import knob_told, listed, quoted


def torn(reading: Reading) -> Iterator[Finding]:
    """Snapshots that move something and hold something else on one knob."""
    for each in reading.torn:
        yield Finding(
            causes.TORN,
            _untorn(reading, each),
            causes.WRONG if each.firm else causes.DOUBTFUL,
            knobs=(each.knob,),
            destinations=reading.carries[each.knob],
            snapshots=(each.play.snapshot.name,),
            wronged=each.wronged,
            numbers=(len(each.moved), len(each.held)),
        )


def _untorn(reading: Reading, torn: TornKnob) -> str:
    knob, wronged = torn.knob, torn.wronged
    other = f"route {listed(wronged)} to another knob than {knob_told(knob)}"
    if reading.assumed:
        return f"{other}, or store the snapshots that are wanted"
    it = "it" if len(wronged) == 1 else "them"
    if knob not in torn.play.follows:
        return f"{other}, or let the snapshot hold {it}"
    if reading.fixed(wronged):
        return f"{other}, or let the snapshot hold all that {knob_told(knob)} carries"
    return f"{other}, or let the snapshot move {it} too"


def same_or_silent(reading: Reading) -> Iterator[Finding]:
    """Snapshots that do nothing, and those that move, place and silence the same."""
    if reading.assumed:
        return
    voices = {voice.name for voice in reading.setup.voices}
    doing: list[tuple[tuple[object, ...], Play]] = []
    for play in reading.plays:
        name, puts = play.snapshot.name, frozenset(reading.puts(play).items())
        silent = voices.intersection(play.snapshot.silent)
        if play.works:
            doing.append(((play.works, puts, frozenset(silent)), play))
        elif not puts and not silent:
            yield Finding(causes.SILENT, snapshots=(name,))
    for alike in grouped(doing).values():
        if len(alike) > 1:
            names = tuple(play.snapshot.name for play in alike)
            mend = f"keep '{names[0]}' alone, or change what the others move"
            yield Finding(causes.IDENTICAL, mend, knobs=alike[0].works, snapshots=names)


def positions(reading: Reading) -> Iterator[Finding]:
    """Stored positions that cannot be, or that do nothing because their knob follows."""
    if reading.assumed:
        return
    top = reading.setup.surface.top
    for play in reading.plays:
        of = (play.snapshot.name,)
        for each in play.snapshot.positions:
            at = (each.position,)
            if each.knob not in reading.carries:
                missing = (each.knob,)
                yield Finding(causes.STRAY_POSITION, snapshots=of, missing=missing, numbers=at)
                continue
            of_knob = partial(
                Finding,
                knobs=(each.knob,),
                destinations=reading.carries[each.knob],
                snapshots=of,
            )
            if each.position > top:
                mend = f"store one from 0 to {top}"
                yield of_knob(causes.POSITION_OUTSIDE, mend, numbers=(*at, top))
            if each.knob in play.follows:
                yield of_knob(causes.IDLE_POSITION, numbers=at)


def unknown_names(reading: Reading) -> Iterator[Finding]:
    """Snapshots and groups that name what is not there, or not movable."""
    setup = reading.setup
    voices = {voice.name for voice in setup.voices}
    for snapshot in setup.snapshots:
        lost = (
            *reading.unknown(snapshot.moves),
            *(name for name in snapshot.silent if name not in voices),
            *(knob for knob in snapshot.idle if knob not in reading.carries),
        )
        missing = tuple(dict.fromkeys(lost))
        if missing:
            of, mend = (snapshot.name,), _put_right(missing)
            yield Finding(causes.SNAPSHOT_NAMES, mend, snapshots=of, missing=missing)
        fixed = reading.fixed(name for name in snapshot.moves if name in reading.destinations)
        if fixed:
            it = "it" if len(fixed) == 1 else "them"
            mend = f"leave {it} out of the snapshot, or let {it} be movable"
            yield Finding(causes.IMMOVABLE, mend, destinations=fixed, snapshots=(snapshot.name,))
    for group in setup.groups:
        missing = reading.unknown(group.members)
        if missing:
            of, mend = (group.name,), _put_right(missing)
            yield Finding(causes.GROUP_NAMES, mend, groups=of, missing=missing)


def _put_right(missing: tuple[str, ...]) -> str:
    if len(missing) == 1:
        return f"take the name {quoted(missing)} away, or put it right"
    return f"take the names {quoted(missing)} away, or put them right"


def circles(reading: Reading) -> Iterator[Finding]:
    """Groups that hold themselves, directly or through others."""
    for inside in reading.circles:
        mend = f"take {quoted(inside)} out of itself"
        if len(inside) > 1:
            mend = "take one out of the other, so that none holds itself through others"
        yield Finding(causes.CIRCLE, mend, groups=inside)
