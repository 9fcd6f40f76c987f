"""Voices: one more, and what goes away."""

from __future__ import annotations

from collections.abc import Collection

import attrs

from knobpack.allocation import Allocation
from knobpack.combination.taken_away import without, without_source
from knobpack.edits.answer import Edited
from knobpack.edits.made import Made, along
from knobpack.edits.solution import Wish, solved
from knobpack.errors import InputError
from knobpack.limits import Run
from knobpack.setups.as_read import Reading, lies_within, read
from knobpack.words import Setup
from knobpack.words.fields import check_named
from knobpack.words.names import listed
from knobpack.words.setup_edits import Away, OneMore


def away(reading: Reading, edit: Away, run: Run) -> Edited:
    """Take voices, sources or destinations away, or clear knobs.

    Raises:
        InputError: one of them is not there.
    """
    setup = reading.setup
    voices = [voice.name for voice in setup.voices]
    sources = [each.source for each in setup.voices if each.source is not None]
    known = [*voices, *sources, *reading.destinations, *reading.carries]
    left, undriven = setup, set(edit.names)
    for position, name in enumerate(edit.names):
        right = "name a voice, a source, a voice/destination or a knob of the setup"
        check_named(f"Away.names[{position}]", name, known, right)
        if name in voices:
            left = without_voices(left, (name,))
        elif name in sources:
            left = _without_source(left, name)
        elif name in reading.destinations:
            left = _without(left, (), (name,))
        else:
            only = {each for each in reading.carries[name] if reading.knobs_of[each] == (name,)}
            left, undriven = _cleared(_without(left, (), only), name), undriven | only
    there = read(left).destinations
    gone = [name for name in reading.destinations if name not in there or name in undriven]
    notes = tuple(
        f"Snapshot '{each.name}' is gone: {_why_gone(setup, each.name, edit.names)}."
        for each in setup.snapshots
        if each.name not in {kept.name for kept in left.snapshots}
    )

    def told(made: Made, _: Allocation) -> Made:
        return attrs.evolve(made, notes=notes)

    wish = Wish(str(edit), named=tuple(gone), must=False)
    return solved(setup, left, wish, run, told)


def _why_gone(setup: Setup, snapshot: str, names: Collection[str]) -> str:
    """Why a snapshot goes with what is taken away, as the end of a sentence."""
    came = [e.source for e in setup.arrivals if e.source in names and snapshot in e.snapshots]
    return f"it came with {listed(came)}" if came else "it moved nothing else"


def _without_source(setup: Setup, source: str) -> Setup:
    """A setup without a source, as it was before where it remembers that, but for edits since."""
    if source in {each.source for each in setup.arrivals}:
        return without_source(setup, source)
    return without_voices(setup, [v.name for v in setup.voices if v.source == source])


def without_voices(setup: Setup, names: Collection[str]) -> Setup:
    """A setup without some voices, and without snapshots that moved nothing else.

    Args:
        setup: the setup.
        names: the names of voices of it.
    """
    return _without(setup, names, ())


def _without(setup: Setup, voices: Collection[str], undriven: Collection[str]) -> Setup:
    """A setup without some voices, and without the routes of some destinations."""
    left = without(setup, voices, undriven)
    moved = {each.name for each in setup.snapshots if each.moves}
    snapshots = tuple(each for each in left.snapshots if each.moves or each.name not in moved)
    return along(setup, attrs.evolve(left, snapshots=snapshots)).setup


def _cleared(setup: Setup, knob: str) -> Setup:
    """A setup with a knob that nothing is said of; what other knobs drive stays on them."""
    routes = tuple(each for each in setup.routes if each.knob != knob)
    travels = tuple(each for each in setup.travels if each.knob != knob)
    labels = tuple(each for each in setup.labels if each.knob != knob)
    left = along(setup, attrs.evolve(setup, routes=routes, travels=travels)).setup
    return attrs.evolve(left, labels=labels)


def with_one_more(reading: Reading, edit: OneMore) -> Setup:
    """A setup with a voice more that no knob drives yet, and that has no layer.

    Raises:
        InputError: its name is taken, a travel lies outside the resolution, or there is no such
            snapshot.
    """
    setup, voice = reading.setup, edit.voice
    if voice.name in reading.known:
        raise InputError("OneMore.voice.name", voice.name, "this name is taken; give it another")
    for position, inner in enumerate(voice.destinations):
        if inner.travel is not None and not lies_within(inner.travel, setup.surface.top):
            where = f"OneMore.voice.destinations[{position}].travel"
            right = f"positions run from 0 to {setup.surface.top}"
            raise InputError(where, inner.travel, right)
    moves_in = _widest(reading) if edit.moves_in is None else edit.moves_in
    stored = [each.name for each in setup.snapshots]
    for position, name in enumerate(moves_in):
        check_named(f"OneMore.moves_in[{position}]", name, stored, "name a snapshot of the setup")
    return attrs.evolve(
        setup,
        voices=(*setup.voices, attrs.evolve(voice, layer=None)),
        snapshots=tuple(
            attrs.evolve(each, moves=(*each.moves, voice.name)) if each.name in moves_in else each
            for each in setup.snapshots
        ),
    )


def one_more(reading: Reading, edit: OneMore, run: Run) -> Edited:
    """Bring a voice: what it has gets knobs as it came, and it gets a free layer.

    Raises:
        InputError: as :func:`with_one_more`.
    """
    setup, voice, more = reading.setup, edit.voice, with_one_more(reading, edit)
    named = tuple(voice.by_full_name)

    def layered(made: Made, allocation: Allocation) -> Made:
        layer = next(each.new for each in allocation.layers if each.voice == voice.name)
        voices = tuple(
            attrs.evolve(each, layer=layer) if each.name == voice.name else each
            for each in made.setup.voices
        )
        found, note = attrs.evolve(made.setup, voices=voices), f"{voice.name} is on layer {layer}."
        return attrs.evolve(made, setup=found, notes=(note,))

    wish = Wish(str(edit), (), named, named, must=False)
    return solved(setup, more, wish, run, layered)


def _widest(reading: Reading) -> tuple[str, ...]:
    """The snapshots that move all that any of the others moves."""
    plays = reading.stored_plays
    every = frozenset(name for play in plays for name in play.moved)
    return tuple(play.snapshot.name for play in plays if play.moved == every)
