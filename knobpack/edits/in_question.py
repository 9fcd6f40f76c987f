"""In question: what a setup that is saved asks for, and its layout as the answer to that.

A question about a saved setup is about the music, not about the programming. What came last, as
the setup remembers (``Setup.arrivals``), or together with what is asked about, is free: it is asked
for as the combination asked for it, with its bundles, the travels that it wants and the snapshots
and agreed rules that hold; the rest is kept as it stands, so the answers are those that the
combination gave. Where nothing came, what
is asked about is free: what a destination shares its knob with, what a knob drives, or all, where
knobs are counted; else all that is joined or misses the travel that it wants. It would rather stay
(``previous``), and is bound to what its ``source_knob`` drove, not to what its knob drives now.

A snapshot that the setup breaks itself, as it parts what one knob drives, is asked for at a price:
what is on that knob can be asked about like all else. While it stays the knob takes nothing more.

The layout is the one that stands, whether or not it is the best: :attr:`InQuestion.better` says
what else there is.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import Any

import attrs

from knobpack.allocation import Allocation, Tier
from knobpack.allocation.checked import LEAST
from knobpack.checked_search import allocate_during
from knobpack.clash import ImpossibleDemands
from knobpack.combination.base import KeptBase, kept_base
from knobpack.definition.phrases import many
from knobpack.edits.memory import around_a_break, before_and_after
from knobpack.errors import InputError, NoLayoutFound
from knobpack.explanation.what_if import MOST_LINES, Difference, difference_of, proof
from knobpack.limits import Run
from knobpack.setups.as_read import Reading, TornKnob, read
from knobpack.setups.bundles import recorded_knob
from knobpack.setups.undriven import put_away
from knobpack.text.columns import sentence
from knobpack.words import Arrival, Destination, Layout, Request, Route, Setup, Voice
from knobpack.words.edits import only
from knobpack.words.fields import HIGHEST_WEIGHT
from knobpack.words.names import knob_told, listed

COMFORT = ("change", "layout")
"""The tiers for which alone nobody programs anything anew."""


@attrs.frozen
class InQuestion:
    """A setup as it stands, as the answer to what it asks for.

    Args:
        allocation: its layout, proven as far as the best layout that was found proves it.
        better: what the best layout has that this has not; None: it is as good, or none was found.
    """

    allocation: Allocation
    better: Difference | None = None

    @property
    def best(self) -> Allocation:
        """The better layout, where there is one; else the one that stands."""
        found = None if self.better is None else self.better.allocation
        return found or self.allocation

    @property
    def sentences(self) -> tuple[str, ...]:
        """What would be better, at which price of programming; none where nothing is."""
        if self.better is None or self.better.comparison is None:
            return ()
        comparison, moved = self.better.comparison, self.better.moved
        last = comparison.order.index(comparison.tier or comparison.order[-1])
        certain = all(tier.proven for tier in self.better.after[: last + 1])
        anew = f"{many(len(moved), 'route')} to program: {listed([*map(str, moved)], MOST_LINES)}"
        return (
            f"It could be better, all else as it is: {comparison.told}{proof(proven=certain)}.",
            *self.better.heard,
            f"That takes {anew}." if moved else "That takes travels alone.",
        )


def as_it_stands(
    setup: Setup,
    about: Collection[str] = (),
    *,
    everything: bool = False,
    left_out: bool = False,
) -> Allocation:
    """A setup in question, as it stands; nothing is searched for, so nothing of it is proven.

    Args:
        setup: the setup, which may be faulty.
        about: full names of what is asked about; none: nothing in particular. What of it no knob
            drives is taken to be left out.
        everything: whether all may move where nothing came.
        left_out: whether all counts as left out that a knob of its source drove and none drives
            now; without that what came last does. What was put away is not missed.

    Returns:
        The layout. What a fault keeps out of a request is in no part of it.
    """
    torn = {each.knob for each in _torn(read(setup))}
    setup = with_torn_as_wishes(setup)
    reading = read(setup)
    came = came_with(setup, about)
    if came:
        free = _that_came(reading, came)
    elif everything:
        free = tuple(route.destination for route in reading.routes)
    else:
        free = _asked_about(reading, about)
    voices = _voices_of(setup, came)
    missed = (reading.destinations.keys() if left_out else voices) - put_away(setup)
    lost = tuple(
        name
        for name, inner in reading.destinations.items()
        if not reading.knobs_of[name] and (name in about or (inner.source_knob and name in missed))
    )
    try:
        return _standing(reading, came, kept_base(setup, free), lost, torn)
    except InputError:  # a fault that only what stays may have
        return _standing(reading, came, kept_base(setup, ()), lost, torn)


def last_edited(setup: Setup, about: Collection[str], **limits: Any) -> Allocation | None:
    """The layout that the last edit of a setup gave, if that moved what is asked about.

    Args:
        setup: the setup.
        about: full names.
        limits: as those of :func:`knobpack.edit`.
    """
    from knobpack.edits.editor import edit

    what = setup.edits[-1].what if setup.edits else None
    if what is None:
        return None
    was, _ = before_and_after(setup, len(setup.edits) - 1)
    old, new = read(was).knobs_of, read(setup).knobs_of
    if all(old.get(name) == new.get(name) for name in about):
        return None
    try:
        again = edit(was, what, **limits)
    except (ImpossibleDemands, InputError, NoLayoutFound):
        return None
    return again.allocation if read(again.setup).carries == read(setup).carries else None


def in_question(standing: Allocation, run: Run) -> InQuestion:
    """How good a layout is among all that its request allows.

    Args:
        standing: a layout that meets every demand.
        run: what may cut the search short.
    """
    try:
        best = allocate_during(standing.request, run)
    except NoLayoutFound:
        return InQuestion(standing)
    if best.prices.totals >= standing.prices.totals:
        alike = best.layout == standing.layout
        return InQuestion(best if alike else _proven_by(standing, best))
    found = difference_of(standing, best)
    told = found.comparison is not None and found.comparison.tier not in COMFORT
    return InQuestion(_proven_by(standing, best), found if told else None)


def came_with(setup: Setup, about: Collection[str] = ()) -> tuple[Arrival, ...]:
    """The sources that something came with, in one go; of what was there before, the last to come.

    Args:
        setup: the setup.
        about: full names; of those that came at several times the last ones count.

    Returns:
        The sources that came last with any of it, else those that came last; none where none came.
    """
    in_one_go: list[list[Arrival]] = []
    for each in setup.arrivals:
        if each.at_once and in_one_go:
            in_one_go[-1].append(each)
        else:
            in_one_go.append([each])
    last = in_one_go[-1:]
    brought = [each for each in in_one_go if not _voices_of(setup, each).isdisjoint(about)]
    return tuple((brought or last or [[]])[-1])


def footing_told(setup: Setup, about: Collection[str] = ()) -> tuple[str, ...]:
    """What alone may move for a question, where an edit may move all; none where nothing came.

    Args:
        setup: the setup.
        about: as of :func:`came_with`.
    """
    came = listed([each.source for each in came_with(setup, about)])
    told = f"Here what came with {came} may move, and the rest stays; in an edit all may move."
    return (told,) if came else ()


def past_told(setup: Setup, about: Collection[str]) -> tuple[str, ...]:
    """Which knobs are out of use, and what of something asked about left its knob, in sentences.

    Args:
        setup: the setup.
        about: full names of destinations, and names of knobs.
    """
    at = read(setup).knobs_of
    told = dict[str, None]()
    for broken in setup.broken:
        was, then = (read(each).knobs_of for each in around_a_break(setup, broken.knob))
        moved = {name: knobs[0] for name, knobs in was.items() if knobs and knobs != then[name]}
        left = [name for name in moved if name in about and moved[name] not in at.get(name, ())]
        knob = knob_told(broken.knob)
        told |= dict.fromkeys(
            f"{name} was on {knob_told(moved[name])} until {knob} went out of use." for name in left
        )
        if not left:
            told[f"{sentence(knob)} is out of use."] = None
    for arrival in setup.arrivals:
        for name, old in _gave_way([arrival]).items():
            if name in about and old.knob not in at.get(name, ()):
                told[f"{name} was on {knob_told(old.knob)} until '{arrival.source}' came."] = None
    return tuple(told)


def torn_knobs_told(setup: Setup, knobs: Collection[str]) -> tuple[str, ...]:
    """Which of some knobs take nothing more, as a snapshot parts what they drive, in sentences."""
    return tuple(
        f"{knob_told(each.knob)} takes nothing more, as snapshot '{each.play.snapshot.name}'"
        f" moves {listed(each.moved)} and holds {listed(each.held)}."
        for each in _torn(read(setup))
        if each.knob in knobs
    )


def _torn(reading: Reading) -> Iterator[TornKnob]:
    """Each knob that a snapshot tears and must not.

    What the master never moves parts a knob in any case, and no snapshot could do otherwise.
    """
    return (each for each in reading.torn if each.firm and not reading.fixed(each.held))


def with_torn_as_wishes(setup: Setup) -> Setup:
    """A setup, those of its snapshots that it breaks itself having a price: it stands as it is."""
    broken = {each.play.snapshot.name for each in _torn(read(setup))}
    snapshots = (
        attrs.evolve(each, break_weight=HIGHEST_WEIGHT) if each.name in broken else each
        for each in setup.snapshots
    )
    return attrs.evolve(setup, snapshots=tuple(snapshots)) if broken else setup


def _voices_of(setup: Setup, came: Iterable[Arrival]) -> frozenset[str]:
    """The full names of all that came from some sources."""
    sources = {each.source for each in came}
    coming = (voice for voice in setup.voices if voice.source in sources)
    return frozenset(full for voice in coming for full in voice.by_full_name)


def _that_came(reading: Reading, came: Iterable[Arrival]) -> tuple[str, ...]:
    """What came and is driven, and what of the rest was free to move for it."""
    names = _voices_of(reading.setup, came) | set(_gave_way(came))
    return tuple(name for name, knobs in reading.knobs_of.items() if knobs and name in names)


def _gave_way(came: Iterable[Arrival]) -> dict[str, Route]:
    """What was free to move for what came, and where it first was, by destination."""
    moved = [m for each in came for m in each.routes if m.now]
    return {each.route.destination: each.route for each in reversed(moved)}


def _asked_about(reading: Reading, about: Collection[str]) -> tuple[str, ...]:
    """All on the knobs of what is asked about; else what is joined or misses its travel."""
    free: list[str] = []
    missing = {
        route.destination
        for route in reading.routes
        if reading.destinations[route.destination].travel not in (None, reading.led(route))
    }
    for names in reading.carries.values():
        asked = about or (names if len(names) > 1 else missing)
        if not set(names).isdisjoint(asked):
            free += names
    return tuple(free)


def _standing(
    reading: Reading,
    came: Iterable[Arrival],
    kept: KeptBase,
    lost: tuple[str, ...],
    torn: Collection[str],
) -> Allocation:
    """The layout of a setup as the answer to what it asks for.

    A torn knob that stays takes nothing more, as in a combination.

    Raises:
        InputError: it is none.
    """
    setup, gave_way = reading.setup, _gave_way(came)

    def asked(of: Voice, full: str, inner: Destination, plain: Destination) -> Destination:
        if full in lost:
            return attrs.evolve(plain, must_place=False)
        if full not in kept.freed:
            return inner
        was = gave_way.get(full)
        if was is not None:
            return attrs.evolve(inner, source_knob=recorded_knob(of, plain) or was.knob)
        return attrs.evolve(inner, source_knob=plain.source_knob, must_place=plain.must_place)

    def voice(own: Voice, plain: Voice) -> Voice:
        inner = zip(own.by_full_name.items(), plain.destinations, strict=True)
        return attrs.evolve(own, destinations=tuple(asked(own, *each, was) for each, was in inner))

    freed = tuple(kept.freed.values())
    before = tuple(gave_way[name] for name in kept.freed if name in gave_way) if came else freed
    stay = {*kept.surface.reserved, *torn} - {route.knob for route in freed}
    closed = tuple(knob for knob in kept.surface.knob_names if knob in stay)
    most = kept.surface.snapshots if kept.snapshots else None
    whole = Request(
        surface=attrs.evolve(kept.surface, reserved=closed, snapshots=most),
        voices=tuple(map(voice, kept.voices, setup.voices)),
        groups=kept.groups,
        # Where none is stored, and the one that is assumed would part a knob, none parts any.
        snapshots=kept.snapshots or (() if any(reading.torn) else reading.snapshots),
        rules=kept.agreed,
        keep=kept.keep,
        previous=Layout(before) if before else None,
    )
    routes = (*kept.keep.routes, *freed)
    there = {route.destination for route in routes}
    request = only(whole, {*there, *lost})
    return Allocation.of(request, reading.layout(routes))


def _proven_by(standing: Allocation, best: Allocation) -> Allocation:
    """A layout with what the best of its request proves of it.

    A bound holds for what is no worse in every tier before.
    """
    tiers, alike, proven = [], True, True
    for own, other in zip(standing.tiers, best.tiers, strict=True):
        bound = other.bound if alike else LEAST
        proven = proven and own.value == bound
        tiers.append(Tier(own.name, own.value, bound, proven))
        alike = alike and own.value == other.value
    return attrs.evolve(standing, tiers=tuple(tiers), stopped=best.stopped)
