"""State: what stands on each knob when all steps are done, and what to take care of."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

import attrs

from knobpack.auditing.audit import slips_told
from knobpack.definition.phrases import PER_ROUTE, is_level, level_like, levels_told, travel_text
from knobpack.grouped import grouped
from knobpack.setups.as_read import Reading, read
from knobpack.setups.missed_travels import (
    MissedTravel,
    alarms,
    alarms_named,
    missed_between,
    missed_told,
)
from knobpack.setups.undriven import undriven_in, undriven_told
from knobpack.sheets.steps import Step
from knobpack.sheets.told import Show, follow, names_in
from knobpack.text.columns import sentence
from knobpack.words import Route, Setup, Travel
from knobpack.words.names import knob_told, knobs_told, listed, quoted, voice_part


@attrs.frozen
class KnobState:
    """One knob of the finished setup.

    Args:
        knob: its name.
        missing: whether the surface has no such knob.
        travel: its travel in positions, and in words.
        goes: the same as a value; None: the surface sets travels on routes.
        drives: the full names of its destinations, each with the layer of its voice, if any.
        follows: the snapshots in which it follows the master.
        over: the travel of each of its routes, in positions and in words; empty texts where it has
            none of its own.
        label: what its display shows; None: nothing is known.
        sends: what it sends and how it takes over, in words; None: nothing is known.
        closed: why no route may come to it, in words; None: one may.
    """

    knob: str
    missing: bool
    travel: str
    goes: Travel | None
    drives: tuple[tuple[str, int | None], ...]
    follows: tuple[str, ...]
    over: tuple[str, ...]
    label: str | None = None
    sends: str | None = None
    closed: str | None = None

    @property
    def amiss(self) -> str:
        """What is amiss with the knob itself, in brackets; empty if nothing is."""
        if self.missing:
            return " (not on this surface)"
        return "" if self.closed is None else f" ({self.closed})"

    def ends(self, show: Show, *, together: bool = False) -> list[str]:
        """What it drives, each shown, with the layer and the travel of its route.

        Args:
            show: how names are shown.
            together: whether those that follow each other on one layer, over one travel, are one.
        """
        every = [
            (
                show(name),
                "" if layer is None else f" on layer {layer}",
                f" over {over}" * bool(over),
            )
            for (name, layer), over in zip(self.drives, self.over, strict=True)
        ]
        found = []
        for where, some in groupby(every, lambda each: each[1:] if together else each):
            names = [each[0] for each in some]
            found.append(listed(names, len(names)) + "".join(where[-2:]))
        return found


def knob_states(setup: Setup) -> tuple[KnobState, ...]:
    """Every knob of the surface in panel order, then those that are only named."""
    known = setup.surface.knob_names
    reading = read(setup)
    follows = [(play.snapshot.name, set(play.follows)) for play in reading.plays]
    layer = {full: voice.layer for voice in setup.voices for full in voice.by_full_name}
    travels = {setting.knob: setting.travel for setting in setup.travels}
    full, top, own = Travel.full(setup.surface.bits), setup.surface.top, setup.surface.per_route
    routes = grouped((route.knob, route) for route in setup.routes)

    def over(route: Route) -> str:
        travel = route.travel or (full if own else None)
        return "" if travel is None else travel_text(travel, top)

    labels = {each.knob: each.label for each in setup.labels}
    sends = {each.knob: str(each) for each in setup.sending}
    on_panel = set(known)
    return tuple(
        KnobState(
            knob,
            knob not in on_panel,
            PER_ROUTE if own else travel_text(travels.get(knob, full), top),
            None if own else travels.get(knob, full),
            tuple((r.destination, layer.get(r.destination)) for r in routes.get(knob, ())),
            tuple(name for name, knobs in follows if knob in knobs),
            tuple(map(over, routes.get(knob, ()))),
            labels.get(knob),
            sends.get(knob),
            reading.closed(knob),
        )
        for knob in dict.fromkeys((*known, *routes, *travels, *labels, *sends))
    )


def by_stage(steps: Iterable[Step]) -> Iterator[tuple[str, list[tuple[int, Step]]]]:
    """The steps with their numbers, below each heading those that stand there."""
    for stage, members in groupby(enumerate(steps, 1), key=lambda item: item[1].stage):
        yield stage, list(members)


def remarks(before: Setup, after: Setup, show: Show = str) -> Iterator[tuple[str, list[str]]]:
    """What else is to be looked after besides the steps, below headings; none without anything."""
    missed = missed_told(missed_between(before, after), show)
    for heading, told in (
        ("Snapshots to check", _other_followers(before, after, show)),
        ("To switch off", _to_switch_off(after, show)),
        ("Set by ear", _by_ear(before, after, show)),
        ("Travels that are not as wanted", [f"{told}." for told in missed]),
    ):
        items = list(told)
        if items:
            yield heading, items


def in_words(after: Setup, show: Show) -> tuple[str, ...]:
    """Where the voices stand, and what each snapshot silences and holds, when all is set."""
    return (*_voices_at(after, show), *_silent_in(after, show), *_held_in(after, show))


def _voices_at(setup: Setup, show: Show) -> list[str]:
    """Each voice with where it stands and how it is played, by layer, those without one last."""
    order = sorted(setup.voices, key=lambda voice: (voice.layer is None, voice.layer or 0))
    return [
        f"{'No layer' if v.layer is None else f'Layer {v.layer}'}: {show(v.name)}"
        + (f" ({', '.join(v.played)})" if v.played else "")
        for v in order
    ]


def caution(before: Setup, after: Setup, show: Show = str) -> str:
    """What is amiss, what no knob drives, and what to take care of where a level may change.

    Empty where there is nothing of it.
    """
    amiss = map(show, slips_told(after))
    alarming = alarms_named(alarms(before, after), show)
    told = (*amiss, *_undriven(after, show), alarming, *_loud(before, after, show))
    return " ".join(filter(None, told))


def caution_of_change(
    before: Setup, after: Setup, alarming: Iterable[MissedTravel] = ()
) -> tuple[str, ...]:
    """What to take care of where a level, or what can change one, is set otherwise than before.

    Args:
        before: the setup as it was.
        after: what it became.
        alarming: what is known already that must be known before the first note.

    Returns:
        What of travels must be known, and the caution; nothing where there is neither.
    """
    known = {each.destination for each in alarming}
    more = (each for each in alarms(before, after) if each.destination not in known)
    named = alarms_named((*alarming, *more))
    old, new = read(before), read(after)
    had = {(each.destination, each.knob): old.led(each) for each in old.routes}
    was = {each.name: each.stored.items() for each in before.snapshots}
    stood = {
        knob
        for each in after.snapshots
        for knob, _ in each.stored.items() - was.get(each.name, each.stored.items())
    }
    loud = {
        each.knob
        for each in new.routes
        if level_like(new.destinations[each.destination].kind)
        and (had.get((each.destination, each.knob)) != new.led(each) or each.knob in stood)
    }
    knobs = [knob for knob in after.surface.knob_names if knob in loud]
    told = levels_told(f"are set otherwise on {knobs_told(knobs)}") if knobs else ""
    return tuple(filter(None, (named, told)))


def _undriven(after: Setup, show: Show) -> Iterator[str]:
    """What no knob of the finished setup drives, the essential first; hidden ones are left out."""
    reading = read(after)
    essential, rest = undriven_in(after)
    yield from undriven_told(essential, rest, show)
    told = {*essential, *rest}
    plays = reading.stored_plays
    moved = [each.snapshot.name for each in plays if told & reading.moved(each.snapshot)]
    if moved:
        called, one = quoted(map(show, moved), 6), len(moved) == 1
        called = f"Snapshot {called} is" if one else f"Snapshots {called} are"
        yield f"{called} to move {'it' if len(told) == 1 else 'some of it'}, and nothing moves it."


def _loud(before: Setup, after: Setup, show: Show) -> Iterator[str]:
    """A caution where a level, or what can change one, is routed."""
    loud = set()
    for setup in (before, after):
        reading = read(setup)
        kinds = {name: inner.kind for name, inner in reading.destinations.items()}
        loud |= {each.knob for each in reading.routes if level_like(kinds[each.destination])}
    knobs = [knob for knob in after.surface.knob_names if knob in loud]
    if not knobs:
        return
    yield levels_told(f"are driven by {knobs_told(knobs, show=show)}")
    yield "So can each step that sets a travel or a route."


def _to_switch_off(after: Setup, show: Show) -> Iterator[str]:
    """In which snapshots of the finished setup knobs follow although they drive nothing."""
    for snapshot in after.snapshots:
        if snapshot.idle:
            knobs, one = knobs_told(snapshot.idle, show=show), len(snapshot.idle) == 1
            they = "it follows and drives" if one else "they follow and drive"
            yield f"Snapshot '{show(snapshot.name)}': switch off {knobs}; {they} nothing."


def _by_ear(before: Setup, after: Setup, show: Show) -> Iterator[str]:
    for names, knobs, loud in by_ear(before, after, show):
        it = "it is" if len(knobs) == 1 else "they are"
        told = f"{'Snapshot' if len(names) == 1 else 'Snapshots'} {quoted(map(show, names), 999)}"
        told += f": set by ear {knobs_told(knobs, show=show)}; where {it} held is not known."
        yield f"{told} {loud}".rstrip()
    yield from unheld_levels(before, after, show)


def unheld_levels(before: Setup, after: Setup, show: Show = str) -> tuple[str, ...]:
    """Which voices come that sound, and whose levels no knob drives, in a sentence.

    Args:
        before: the setup as it was.
        after: what it becomes.
        show: what a name is shown as.

    Returns:
        The sentence; none where there is no such voice.
    """
    new, had = read(after), {voice.name for voice in before.voices}
    silent = [set(each.silent) for each in after.snapshots]
    found = []
    for voice in after.voices:
        levels = [n for n, inner in voice.by_full_name.items() if is_level(inner.kind)]
        sounds = not silent or any(voice.name not in names for names in silent)
        if voice.name not in had and sounds and levels and not any(map(new.knobs_of.get, levels)):
            found.append(voice.name)
    if not found:
        return ()
    one = len(found) == 1
    sound, they = ("sounds", "it stands") if one else ("sound", "they stand")
    its = "its level" if one else "their levels"
    told = f"{names_in(found, show)} {sound} at whatever level {they}: no knob drives {its}."
    return (told,)


def by_ear(
    before: Setup, after: Setup, show: Show = str
) -> Iterator[tuple[list[str], tuple[str, ...], str]]:
    """In which snapshots knobs are held where no one knows, but for those that were so before.

    A knob is not told again where it drives what it drove, in a snapshot in which it was held
    where no one knew; nor where all that it drives is of voices that are silent there.

    Args:
        before: the setup as it was.
        after: what it becomes.
        show: what a name is shown as.

    Yields:
        Snapshots, the knobs in them, and which of those are levels of voices that come, as a
        sentence; empty where none is.
    """
    old, new = read(before), read(after)
    was = {play.snapshot.name: set(old.by_ear(play)) for play in old.stored_plays}
    alike: dict[tuple[tuple[str, ...], str], list[str]] = {}
    for play in new.stored_plays:
        name, silent = play.snapshot.name, play.snapshot.silent
        knobs = tuple(
            knob
            for knob in new.by_ear(play)
            if any(voice_part(each) not in silent for each in new.carries[knob])
            if knob not in was.get(name, ()) or set(old.carries[knob]) != set(new.carries[knob])
        )
        if knobs:
            loud = _sounding(name, knobs, old, new, show)
            alike.setdefault((knobs, loud), []).append(name)
    yield from ((names, knobs, loud) for (knobs, loud), names in alike.items())


def _sounding(snapshot: str, knobs: Iterable[str], old: Reading, new: Reading, show: Show) -> str:
    """Which of some knobs are levels of voices that come, in a snapshot that was there."""
    plays = {play.snapshot.name: play.snapshot.silent for play in new.plays}
    if snapshot not in {each.name for each in old.setup.snapshots}:
        return ""
    had = {voice.name for voice in old.setup.voices}
    voices: dict[str, None] = {}
    loud = []
    for knob in knobs:
        levels = [each for each in new.carries[knob] if is_level(new.destinations[each].kind)]
        come = [voice_part(each) for each in levels]
        come = [each for each in come if each not in had and each not in plays[snapshot]]
        if come:
            loud.append(knob)
            voices |= dict.fromkeys(come)
    if not loud:
        return ""
    are = "is the level" if len(loud) == 1 else "are the levels"
    sound = "sounds" if len(voices) == 1 else "sound"
    them = "it" if len(loud) == 1 else "them"
    told = f"{knobs_told(loud, show=show)} {are} of {names_in(voices, show)}"
    return f"{sentence(told)}, which {sound} there unless you set {them}."


def _held_in(after: Setup, show: Show) -> Iterator[str]:
    """Where each snapshot of the finished setup puts the knobs that do not follow in it."""
    reading = read(after)
    for play in reading.stored_plays:
        places = [f"{show(knob_told(knob))} at {at}" for knob, at in reading.stands(play).items()]
        if places:
            yield f"Held in '{show(play.snapshot.name)}': {listed(places, len(places))}"


def _silent_in(after: Setup, show: Show) -> Iterator[str]:
    """The voices that do not sound in each snapshot of the finished setup."""
    for snapshot in after.snapshots:
        if snapshot.silent:
            yield f"Silent in '{show(snapshot.name)}': {names_in(snapshot.silent, show)}"


def _other_followers(before: Setup, after: Setup, show: Show) -> Iterator[str]:
    """The snapshots that are not to be stored anew, but in which other knobs follow now."""
    was = {play.snapshot.name: play for play in read(before).plays}
    for play in read(after).plays:
        name, moves = play.snapshot.name, set(play.snapshot.moves)
        same = name in was and set(was[name].snapshot.moves) == moves
        if same and was[name].follows != play.follows:
            yield (
                f"Snapshot '{show(name)}' moves what it moved, on other knobs: now "
                f"{follow(play.follows, show)} in it."
            )
