"""move_to_panel(), move_home(): a setup taken to another panel, and taken back home."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator

import attrs

from knobpack.allocation import Allocation
from knobpack.auditing.audit import lost_routes_told
from knobpack.combination.report import NONE_SOUGHT
from knobpack.definition.phrases import many
from knobpack.edits.answer import Edited
from knobpack.edits.made import Made, arriving, goes_of, knob_of, layout_of
from knobpack.edits.memory import remembered
from knobpack.edits.merge import merged, with_settings
from knobpack.edits.panels import Crossing
from knobpack.edits.solution import Wish, solved
from knobpack.edits.taken_back import done_without
from knobpack.edits.voices import without_voices
from knobpack.edits.without_snapshots import placed_without_told
from knobpack.errors import InputError, Reason
from knobpack.grouped import grouped
from knobpack.limits import DEFAULT_EFFORT, Limits, Progress, Run, begun
from knobpack.setups.as_read import Reading, read
from knobpack.setups.sounding import held_still_told
from knobpack.setups.wished_travels import with_wishes
from knobpack.words import Home, KnobTravel, Route, Setup, Surface, Travel, Voice, VoiceLayer
from knobpack.words.fields import MOST_ITEMS, check_kind
from knobpack.words.names import knobs_told, listed
from knobpack.words.setup_edits import OutOfUse


def move_to_panel(
    setup: Setup,
    surface: Surface,
    *,
    time_limit: float | None = None,
    effort: float = DEFAULT_EFFORT,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
    limits: Limits | None = None,
) -> Edited:
    """Take a setup to another panel, or back home.

    What a knob drives stays on the knob of the same name, or else at the same place in row and
    column, where the new panel has one; the rest takes the free knobs in the order of its home, and
    is laid out so that no bundle more than must is parted or joined. All positions are rescaled
    once. Snapshots keep names and order. Where layers or snapshots run out, the least important
    voices and the last snapshots stay behind, and that is said. Rules about knobs that are not
    there wait.

    The setup remembers its home: taken back there, which :func:`move_home` does without its panel,
    positions, places, and what stayed behind are what they were, but for what was edited meanwhile.
    A knob that went out of use there is no edit: what moved for it alone is back where it was.

    Args:
        setup: the setup in use.
        surface: the panel to take it to.
        time_limit: seconds after which the search is cut off, 0 to 10**9; None: none.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        progress: told, now and then, how far the search is.
        cancel: asked now and then; once it says yes, the best so far is taken.
        limits: in place of those four, all of them in one value.

    Returns:
        The setup there, what is on another knob and why, and a sheet: how to program it there from
        nothing; back home, from the setup as it was there.

    Raises:
        InputError: something given is not what it must be, or the setup is on that panel.
        NoLayoutFound: the search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, KnobTravel, Route, Setup, Surface, Travel, Voice
        >>> from knobpack import move_to_panel
        >>> organ = Voice("Organ", (Destination("level"), Destination("drive")), layer=1)
        >>> routes = (Route("Organ/level", "K1"), Route("Organ/drive", "K4"))
        >>> travels = (KnobTravel("K1", Travel(0, 511)),)
        >>> at_home = Setup(
        ...     "Evening set", Surface.row(4, bits=10), (organ,), routes=routes, travels=travels
        ... )
        >>> away = move_to_panel(at_home, Surface.row(2))
        >>> print(away)
        Evening set on 2 knobs at 7 bits: 1 route moves, from K4; proven: less will not do.
        Organ/drive goes from K4 to K2.
        >>> away.setup.travels[0]
        KnobTravel(knob='K1', travel=Travel(start=0, end=63))
        >>> move_to_panel(away.setup, at_home.surface).setup == at_home
        True
    """
    reading = read(setup, "move_to_panel.setup")
    check_kind("move_to_panel.surface", surface, Surface)
    run = begun("move_to_panel", effort, limits, time_limit, progress, cancel)
    if reading.setup.surface == surface:
        there = Reason("the setup is on that panel already")
        raise InputError("move_to_panel.surface", there, "give another")
    if setup.home is None:
        return _away(setup, surface, run)
    back = _back(setup, setup.home, run)
    return back if surface == setup.home.setup.surface else _away(back.setup, surface, run)


def move_home(
    setup: Setup,
    *,
    time_limit: float | None = None,
    effort: float = DEFAULT_EFFORT,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
    limits: Limits | None = None,
) -> Edited:
    """Take a setup back home from another panel: it remembers where that is.

    Args:
        setup: a setup that was taken to another panel by :func:`move_to_panel`.
        time_limit: seconds after which the search is cut off, 0 to 10**9; None: none.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        progress: told, now and then, how far the search is.
        cancel: asked now and then; once it says yes, the best so far is taken.
        limits: in place of those four, all of them in one value.

    Returns:
        The setup as it was at home, but for what was edited meanwhile; what is on another knob
        than it was there, and a sheet that starts from that.

    Raises:
        InputError: something given is not what it must be, or the setup is at home.
        NoLayoutFound: the search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, Route, Setup, Surface, Voice
        >>> from knobpack import move_home, move_to_panel
        >>> organ = Voice("Organ", (Destination("level"), Destination("drive")), layer=1)
        >>> routes = (Route("Organ/level", "K1"), Route("Organ/drive", "K4"))
        >>> at_home = Setup("Evening set", Surface.row(4, bits=10), (organ,), routes=routes)
        >>> away = move_to_panel(at_home, Surface.row(2)).setup
        >>> move_home(away).setup == at_home
        True
    """
    check_kind("move_home.setup", setup, Setup)
    run = begun("move_home", effort, limits, time_limit, progress, cancel)
    if setup.home is None:
        there = Reason("the setup is at home")
        raise InputError("move_home.setup.home", there, "give one that was taken to another panel")
    return _back(setup, setup.home, run)


def _named(setup: Setup) -> str:
    surface = setup.surface
    knobs, reserved = many(len(surface.knobs), "knob"), surface.reserved
    if reserved:
        are = "is" if len(reserved) == 1 else "are"
        open_to = len(surface.knobs) - len(reserved)
        knobs = f"{open_to} of {knobs} ({knobs_told(reserved, 3)} {are} reserved)"
    return f"{setup.name} on {knobs} at {surface.bits} bits"


def _back(setup: Setup, home: Home, run: Run) -> Edited:
    """The setup back home."""
    # What moved for a knob of that panel alone is no edit of the setup at home.
    broken = {OutOfUse(each.knob): each.knob for each in setup.broken}
    last = {past.what: at for at, past in enumerate(setup.edits) if past.what in broken}
    with run.share(1 / 2) as half:
        again = done_without(setup, last.values(), half)
    whole = again.setup
    there, previous, goes = merged(home.setup, home.arrived, whole)

    def arrived(made: Made, _: Allocation) -> Made:
        return with_settings(home.setup, home.arrived, whole, made.setup)

    wish = Wish(f"{_named(there)}, back home", previous=previous, goes=goes)
    found = solved(home.setup, there, wish, run, arrived)
    told = (
        f"{listed([*broken.values()])} of the other panel: out of use there alone; whoever goes "
        f"there again takes {'it' if len(broken) == 1 else 'them'} out of use again."
    )
    notes = [told] if broken else []
    if len(whole.edits) > 1:
        notes.append("What was edited there is one edit here: it is taken back all together.")
    return attrs.evolve(
        found,
        setup=remembered(home.setup, found.setup, None),
        notes=(*notes, *again.notes, *found.notes),
        certain=found.certain and again.proven,
        still="all is where it was",
    )


def _away(home: Setup, surface: Surface, run: Run) -> Edited:
    """The setup on another panel, which remembers its home."""
    crossing = Crossing.between(home.surface, surface)
    voices, left = _with_layers(home, surface)
    whole = without_voices(home, left) if left else home
    stored = len(whole.snapshots) if surface.snapshots is None else surface.snapshots
    there = attrs.evolve(
        whole,
        surface=surface,
        voices=tuple(crossing.voice(voice) for voice in voices),
        routes=(),
        travels=(),
        snapshots=tuple(crossing.snapshot(each) for each in whole.snapshots[:stored]),
        agreed=tuple(r for each in whole.agreed if (r := crossing.rule(each)) is not None),
        broken=(),
        arrivals=(),
        sending=(),
        edits=(),
    )
    reading = read(whole)
    still = () if surface.per_route else _still(reading)
    places = {name: at for name, at in knob_of(reading).items() if name not in still}
    was = {name: (crossing.knobs.get(at, at),) for name, at in places.items()}
    # What has no knob of its own there is best on the next free one, in the order of its home.
    near = {**crossing.in_turn(set(places.values())), **crossing.knobs}
    goes = {name: crossing.travel(travel) for name, travel in goes_of(reading).items()}
    previous = layout_of(
        surface,
        {name: near.get(at, at) for name, at in places.items()},
        goes,
        reading.rank,
        (VoiceLayer(voice.name, voice.layer) for voice in voices if voice.layer is not None),
    )
    notes = _notes(home, there, left, stored)

    def arrived(made: Made, _: Allocation) -> Made:
        kept = _on_spare_knobs(made.setup, reading, crossing, still)
        here = arriving(whole, _all_set(kept))
        wishing = with_wishes(goes, here.setup)
        found = attrs.evolve(wishing, home=Home(home, wishing))
        told = (*_stood(reading, found, still), *notes)
        return attrs.evolve(here, setup=found, notes=told)

    nothing = Setup(home.name, surface)
    wish = Wish(_named(there), previous=previous)
    found = solved(nothing, there, wish, run, arrived, was)
    used = set(knob_of(reading).values())
    called = tuple((n, at) for at, n in crossing.knobs.items() if at != n and at in used)
    moved = tuple(each for each in found.moved if each.destination not in still)
    instead = tuple(placed_without_told(found.allocation, run))
    return attrs.evolve(found, home=called, moved=moved, instead=instead)


def _still(reading: Reading) -> tuple[str, ...]:
    """What is on a knob of which nothing that it drives receives anything new."""
    return tuple(name for name, at in knob_of(reading).items() if at in reading.idle)


def _on_spare_knobs(
    made: Setup, reading: Reading, crossing: Crossing, still: Collection[str]
) -> Setup:
    """The setup with each knob that does nothing as it was, where there is a knob to spare for it.

    On a knob with anything else it would come to life.
    """
    panel, taken = crossing.target, {each.knob for each in made.routes}
    spare = [knob for knob in panel.knob_names if knob not in {*taken, *panel.reserved}]
    most = MOST_ITEMS if panel.routes is None else panel.routes
    most_on_one = panel.destinations_per_knob or MOST_ITEMS
    routes, travels = list(made.routes), {each.knob: each for each in made.travels}
    at = knob_of(reading)
    for home, names in grouped((at[name], name) for name in still).items():
        own = crossing.knobs.get(home)
        knob = own if own in spare else next(iter(spare), None)
        if knob is not None and len(names) <= min(most_on_one, most - len(routes)):
            spare.remove(knob)
            routes += (Route(name, knob) for name in names)
            travels[knob] = KnobTravel(knob, crossing.travel(reading.goes[home]))
    return attrs.evolve(made, routes=tuple(routes), travels=tuple(travels.values()))


def _all_set(made: Setup) -> Setup:
    """The setup with a travel for each knob in use: what is set on a strange panel is not known."""
    if made.surface.per_route:
        return made
    full, used = Travel.full(made.surface.bits), {route.knob for route in made.routes}
    travels = {k: KnobTravel(k, full) for k in made.surface.knob_names if k in used}
    travels |= {each.knob: each for each in made.travels}
    return attrs.evolve(made, travels=tuple(travels.values()))


def _stood(reading: Reading, there: Setup, still: Collection[str]) -> Iterator[str]:
    """What no knob drives there, as none that does anything drove it; and where it stood."""
    left = [name for name in still if not read(there).knobs_of[name]]
    if left:
        yield f"{listed(left)}: {NONE_SOUGHT}."
    yield from held_still_told(reading.setup, there)


def _with_layers(home: Setup, surface: Surface) -> tuple[tuple[Voice, ...], tuple[str, ...]]:
    """The voices that find a layer, each at its own where there is one, and those that do not.

    Where there are too few, those stay behind whose most important destination matters least, and
    of several such the last.
    """
    most = len(home.voices) if surface.layers is None else surface.layers
    rank = {
        voice.name: (min((each.priority for each in voice.destinations), default=5), at)
        for at, voice in enumerate(home.voices)
    }
    stay = set(sorted(rank, key=lambda name: rank[name])[:most])
    left = tuple(voice.name for voice in home.voices if voice.name not in stay)
    highest = MOST_ITEMS if surface.layers is None else surface.layers
    taken = {voice.layer for voice in home.voices if voice.name in stay}
    free = (layer for layer in range(1, highest + 1) if layer not in taken)
    voices = (
        attrs.evolve(v, layer=next(free)) if v.layer is not None and v.layer > highest else v
        for v in home.voices
        if v.name in stay
    )
    return tuple(voices), left


def _notes(home: Setup, there: Setup, left: tuple[str, ...], stored: int) -> tuple[str, ...]:
    """What stays behind, and what waits."""
    found = []
    if left:
        are = "stays" if len(left) == 1 else "stay"
        found.append(f"{listed(left)} {are} behind: there are {there.surface.layers} layers.")
    found += [f"Stays behind: {each}." for each in lost_routes_told(home)]
    kept = {each.name for each in there.snapshots}
    names = [each.name for each in home.snapshots if each.name not in kept]
    if names:
        room = (
            f"there is room for {stored}" if stored < len(home.snapshots) else "they move nothing"
        )
        found.append(f"Snapshots that stay behind: {listed(names)}; {room}.")
    waiting = len(home.agreed) - len(there.agreed)
    if waiting:
        found.append(f"Rules that wait until it is back home: {waiting}.")
    if home.broken:
        knobs = listed([each.knob for each in home.broken])
        found.append(f"{knobs} of the home panel: still out of use there.")
    return tuple(found)
