"""Another panel: a show taken to a spare instrument, and what is lost there, song by song."""

from __future__ import annotations

from collections import Counter
from typing import ClassVar

import attrs

from knobpack.definition.phrases import ESSENTIAL, many
from knobpack.edits import Edited, move_to_panel
from knobpack.edits.made import arriving
from knobpack.edits.panels import Crossing, called_told
from knobpack.errors import InputError, Reason, Stopped, about_song
from knobpack.grouped import grouped
from knobpack.limits import DEFAULT_EFFORT, Limits, begun
from knobpack.reasons.answer_graph import Answer
from knobpack.setups.as_read import read
from knobpack.setups.missed_travels import MissedTravel, alarming_in
from knobpack.setups.undriven import missed_of
from knobpack.sheets import PatchSheet
from knobpack.show.allocator import allocate_during_show
from knobpack.show.answer import ShowAllocation
from knobpack.show.difference import MOST_MOVES, MovedInSong
from knobpack.show.faults import doing_nothing
from knobpack.show.page import show_page
from knobpack.show.setups import alarms_told, sheets_between, undriven_in_songs
from knobpack.show.song import Song
from knobpack.text.shown import Fielded
from knobpack.words import Route, Setup, Surface
from knobpack.words.fields import check_kind
from knobpack.words.names import knob_told, knobs_told, listed, quoted


@attrs.frozen
class SharedThere(Fielded):
    """What was on different knobs and is on one.

    Args:
        knob: the knob that drives it there.
        destinations: their full names.
        knobs: the knobs that they were on.
    """

    knob: str
    destinations: tuple[str, ...]
    knobs: tuple[str, ...]

    def __str__(self) -> str:
        return (
            f"{knob_told(self.knob)} drives {listed(self.destinations)}, "
            f"which were on {knobs_told(self.knobs)}"
        )


@attrs.frozen
class SongThere(Fielded):
    """One song on another panel.

    Args:
        song: its name.
        gone: the full names of what a knob drove and none does there, but for what it did nothing
            to.
        shared: what was on different knobs and is on one.
        moved: what is on another knob than that which is in the place of the one it was on.
        notes: what else gave way, in sentences.
        alarming: what of travels must be known before the first note, and was not so at home.
        as_at_home: what is unlike it is wanted, but no worse than at home.
        essential_out: the full names of what is essential of what is gone.
    """

    song: str
    gone: tuple[str, ...]
    shared: tuple[SharedThere, ...]
    moved: tuple[MovedInSong, ...]
    notes: tuple[str, ...]
    alarming: tuple[MissedTravel, ...] = ()
    as_at_home: tuple[MissedTravel, ...] = ()
    essential_out: tuple[str, ...] = ()

    @property
    def told(self) -> tuple[str, ...]:
        """What is shared, then what moved, by name where it is not named yet; no full stops."""
        found = [*map(str, self.shared)]
        told = {name for each in self.shared for name in each.destinations}
        moved = [
            f"{each.destination} from {knob_told(str(each.before))} to {knob_told(str(each.after))}"
            for each in self.moved
            if each.destination not in told
        ]
        if moved:
            other = "other route" if len(moved) < len(self.moved) else "route"
            found.append(f"{many(len(moved), other)} elsewhere: {listed(moved, MOST_MOVES)}")
        return (*found, *(note.removesuffix(".") for note in self.notes))

    @property
    def sentences(self) -> tuple[str, ...]:
        """The same, each with the song."""
        return tuple(f"'{self.song}': {told}." for told in self.told)


@attrs.frozen
class ShowThere(Answer):
    """A show on another panel, and what is lost there.

    Args:
        songs: each song, with what is otherwise there.
        allocation: the show laid out there.
        called: each knob that drove something at home and has another name there: that, and its
            name at home.
    """

    question: ClassVar[str] = "on panel"

    songs: tuple[SongThere, ...]
    allocation: ShowAllocation = attrs.field(repr=False)
    called: tuple[tuple[str, str], ...] = ()

    @property
    def stopped(self) -> Stopped | None:
        """What cut the search short; None: nothing did."""
        return self.allocation.stopped

    @property
    def proven(self) -> bool:
        """Whether every tier of the show there is proven best."""
        return self.allocation.proven

    def sheets(self) -> dict[str, PatchSheet]:
        """The patch sheets of all songs, each from an empty panel.

        Returns:
            A sheet for each song in which anything is to be programmed, by its name.
        """
        names = [each.song for each in self.songs]
        return sheets_between({}, {name: self.allocation.setup(name) for name in names})

    def page(self) -> str:
        """All songs side by side and each by itself, what is lost or alarming first.

        Returns:
            One HTML page that needs nothing else, for a screen and for paper.
        """
        setups = [self.allocation.setup(each.song) for each in self.songs]
        lost = {each.song: each.gone for each in self.songs}
        alarming = {each.song: each.alarming for each in self.songs}
        known = {each.song: each.as_at_home for each in self.songs}
        return show_page(self.allocation, setups, alarming, self.headlines, lost, known)

    @property
    def headlines(self) -> tuple[str, ...]:
        """What each song loses or leaves out; what is alarming, what so at home too; faults."""
        known = dict.fromkeys(m.destination for each in self.songs for m in each.as_at_home)
        where = " in some songs" if self.songs[1:] else ""
        no_worse = f"Not as wanted{where}, but no worse than at home: {listed(tuple(known))}."
        return (
            *(f"'{each.song}' loses {listed(each.gone)}." for each in self.songs if each.gone),
            *undriven_in_songs(self._undriven),
            *alarms_told({each.song: each.alarming for each in self.songs}),
            *([no_worse] if known else []),
            *self.allocation.fault_sentences,
        )

    @property
    def _undriven(self) -> dict[str, tuple[str, ...]]:
        """What is essential and was driven by no knob at home either, by the names of songs."""
        missed = {each.song: missed_of(self.allocation.setup(each.song)) for each in self.songs}
        gone = {each.song: each.gone for each in self.songs}
        return {song: tuple(n for n in missed[song] if n not in gone[song]) for song in gone}

    @property
    def sentences(self) -> tuple[str, ...]:
        """What is lost or alarming there, how good it is; then what is shared and moved."""
        first, *rest = self.allocation.verdict
        there = self.allocation
        return (
            *self.headlines,
            f"Show '{there.show.name}': {first}",
            *rest,
            *there.travel_sentences,
            *(line for each in self.songs for line in each.sentences),
            *self.same,
        )

    @property
    def same(self) -> tuple[str, ...]:
        """In which songs nothing is otherwise, and which knobs have another name there."""
        same = [each.song for each in self.songs if not (each.told or each.gone)]
        told = "any song" if len(same) == len(self.songs) else quoted(same)
        nothing = f"Nothing is lost in {told}, and no route is elsewhere."
        return (*([nothing] if same else []), *called_told(self.called))


def on_panel(
    found: ShowAllocation,
    surface: Surface,
    *,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> ShowThere:
    """Take a show to another panel, such as a spare instrument with fewer knobs.

    Each song goes there as :func:`knobpack.move_to_panel` takes a setup: what was on one knob stays
    together, positions are rescaled, and it remembers its home. Then all are laid out together, and
    what is not at the place that it has in most songs at home is to be relearned too.

    Args:
        found: a show laid out.
        surface: the other panel.
        effort: deterministic effort, as for :func:`allocate_show`.
        limits: in place of ``effort``, all that may cut it short.

    Returns:
        The show there, and song by song what is lost, shared by one knob, or elsewhere.

    Raises:
        InputError: something given is not what it must be, or the show is on that panel.
        NoLayoutFound: the search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.show import Show, Song, allocate_show, on_panel
        >>> organ = Voice("Organ", [Destination("level"), Destination("drive")])
        >>> show = Show("Evening", [Song("Opener", Request(Surface.row(2), [organ]))])
        >>> print(on_panel(allocate_show(show), Surface.row(1)).sentences[-1])
        'Opener': K1 drives Organ/level and Organ/drive, which were on K1 and K2.
    """
    check_kind("on_panel.found", found, ShowAllocation)
    check_kind("on_panel.surface", surface, Surface)
    if surface == found.show.surface:
        already = Reason("the show is on that panel already")
        raise InputError("on_panel.surface", already, "give another")
    run = begun("on_panel", effort, limits)
    songs, away, known = [], [], _known(found, surface)
    for at, song in enumerate(found.show.songs):
        share = run.anew(len(found.songs) + 1 - at)
        with about_song(song.name):
            there = move_to_panel(found.setup(song.name), surface, limits=share)
        voices = {voice.name for voice in there.setup.voices}
        roles = [each for each in song.roles if each.voice in voices]
        songs.append(Song(song.name, there.setup, roles, free=True, known=known[song.name]))
        away.append(there)
    show = attrs.evolve(found.show, songs=tuple(songs))
    laid = allocate_during_show(show, found.more_joined, run)
    told = (
        _there(song, found.setup(song), each, laid.setup(song))
        for song, each in zip(laid.laid, away, strict=True)
    )
    called = dict.fromkeys(pair for each in away for pair in each.home)
    return ShowThere(tuple(told), laid, tuple(called))


def _known(found: ShowAllocation, surface: Surface) -> dict[str, list[Route]]:
    """For each song where the hand knows things to be: where most songs have them at home."""
    same = Crossing.between(found.show.surface, surface).knobs
    known: dict[str, list[Route]] = {song.name: [] for song in found.show.songs}
    for thing in found.things:
        usual = Counter(at.knob for at in thing.found if at.knob in same).most_common(1)
        for at in thing.found if usual else ():
            known[at.song].append(Route(at.destination, same[str(usual[0][0])]))
    return known


def _there(name: str, home: Setup, away: Edited, setup: Setup) -> SongThere:
    """What is otherwise in one song, which went there by itself before all were laid out."""
    reading = read(home)
    was = {route.destination: route.knob for route in reading.routes}
    now = {route.destination: route.knob for route in read(setup).routes}
    same = Crossing.between(home.surface, setup.surface).knobs
    shared = []
    for knob, names in grouped((now[each], each) for each in was if each in now).items():
        knobs = tuple(dict.fromkeys(was[each] for each in names))
        if len(knobs) > 1:
            shared.append(SharedThere(knob, tuple(names), knobs))
    moved = (
        MovedInSong(name, each, was[each], now[each])
        for each in was
        if each in now and same.get(was[each]) != now[each]
    )
    still = doing_nothing(home)
    gone = tuple(each for each in was if each not in now and each not in still)
    known = {each.destination: each.alarms for each in alarming_in(None, home)}
    new, old = list[MissedTravel](), list[MissedTravel]()
    for each in alarming_in(home, setup):
        so = known.get(each.destination, (False,) * len(each.alarms))
        worse = each.had or any(a > b for a, b in zip(each.alarms, so, strict=True))
        (new if worse else old).append(each)
    essential = tuple(each for each in gone if reading.destinations[each].priority == ESSENTIAL)
    alone = arriving(home, away.setup).told
    notes = (*(n for n in away.notes if n not in alone), *arriving(home, setup).told)
    return SongThere(
        name, gone, tuple(shared), tuple(moved), notes, tuple(new), tuple(old), essential
    )
