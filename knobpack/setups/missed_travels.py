"""Missed travels: what is wanted, or was had, and is not had, because a knob has one travel.

Some of them a player must know before the first note: what is turned round; a level, a send, a
drive or anything else the more of which is louder, if it goes higher than it is wanted or was, or
can no longer be turned down as far; what stands still wherever its knob is; and a level that
reaches half of what it is to reach at most.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

import attrs

from knobpack.definition.phrases import travel_text
from knobpack.grouped import grouped
from knobpack.positions import scaled_travel
from knobpack.setups.as_read import read
from knobpack.text.shown import Fielded
from knobpack.words import Layout, Request, Setup, Travel
from knobpack.words.loudness import is_level, louder_with_more
from knobpack.words.names import knob_told, listed
from knobpack.words.travel import hundredths


@attrs.frozen
class MissedTravel(Fielded):
    """A destination that does not get the travel that it wants, or had.

    Args:
        destination: its full name.
        knob: the knob that drives it.
        wanted: the travel that it wants, in positions of the surface.
        given: the travel that the knob has.
        top: the highest position of the surface, 2**bits - 1.
        kind: the kind of the destination.
        had: whether ``wanted`` is what it had before, whatever it wants.
        right: whether ``given`` is what it wants, unlike what it had.
        its_way: whether it goes the way round that it wants, over whatever travel.
    """

    destination: str
    knob: str
    wanted: Travel
    given: Travel
    top: int
    kind: str
    had: bool = False
    right: bool = False
    its_way: bool = False

    @property
    def travels(self) -> tuple[str, Travel, Travel]:
        """What misses what, on whatever knob."""
        return self.destination, self.wanted, self.given

    @property
    def reversed(self) -> bool:
        """Whether the master moves it the other way round."""
        moves = not self.wanted.empty and not self.given.empty
        return moves and self.wanted.reversed != self.given.reversed

    @property
    def louder(self) -> bool:
        """Whether more of it is louder, and it goes higher."""
        return louder_with_more(self.kind) and _highest(self.given) > _highest(self.wanted)

    @property
    def lifted(self) -> bool:
        """Whether more of it is louder, and it goes down less far, by one in a hundred or more."""
        if self.given.empty or not louder_with_more(self.kind):
            return False
        return self._share(_lowest(self.given)) > self._share(_lowest(self.wanted))

    @property
    def still(self) -> bool:
        """Whether its knob does nothing to it any more."""
        return self.given.empty and not self.wanted.empty

    @property
    def faint(self) -> bool:
        """Whether it is how loud a voice is, and reaches half of what it is to reach at most."""
        if self.given.empty or not is_level(self.kind):
            return False
        return 0 < self._share(_highest(self.wanted)) >= 2 * self._share(_highest(self.given))

    @property
    def lowered(self) -> bool:
        """Whether it is how loud a voice is, and no longer goes as high, by more than a hundredth.

        Half of it and less is ``faint``, and told as that.
        """
        if self.given.empty or self.faint or not is_level(self.kind):
            return False
        return self._share(_highest(self.wanted)) - self._share(_highest(self.given)) > 1

    @property
    def alarms(self) -> tuple[bool, ...]:
        """Whether it is reversed, louder, lifted, still and faint: the worst first."""
        return self.reversed, self.louder, self.lifted, self.still, self.faint

    @property
    def alarming(self) -> bool:
        """Whether a player must know of it before the first note."""
        return any(self.alarms)

    @property
    def told_first(self) -> bool:
        """Whether it is told as what must be known: also a level that goes less high."""
        return self.alarming or self.lowered

    def _share(self, position: int) -> int:
        """How many hundredths of full travel a position is from the bottom."""
        return hundredths(position, self.top)

    def __str__(self) -> str:
        return next(missed_told((self,)))


def missed_told(missed: Iterable[MissedTravel], show: Callable[[str], str] = str) -> Iterator[str]:
    """Missed travels as ends of sentences: one for all that miss the same on one knob.

    Args:
        missed: what is missed.
        show: what a name is shown as.

    Yields:
        Each, without a full stop; what a player must know before the first note first, of that
        levels, then what is otherwise than it was, and last what is now as it is wanted.
    """

    def weight(m: MissedTravel) -> tuple[object, ...]:
        return not m.told_first, m.right, not is_level(m.kind), not m.had, [not a for a in m.alarms]

    order = sorted(missed, key=weight)
    alike = grouped(
        ((attrs.evolve(m, destination="", kind=""), m.alarms, m.told_first and m.lowered), m)
        for m in order
    )
    for (like, *_), those in alike.items():
        names, one = listed([show(m.destination) for m in those]), len(those) == 1
        on = f"on {show(knob_told(like.knob))}"
        goes, wanted = travel_text(like.given, like.top), travel_text(like.wanted, like.top)
        if those[0].told_first:
            instead = "before" if like.had else "not"
            what = listed(list(_alarms_told(those[0], one=one)))
            right = f", as {'it wants' if one else 'they want'}" if like.right else ""
            yield f"{names} {what} {on}: {goes}{right}, {instead} {wanted}"
        else:
            wants = "had" if like.had else "wants" if one else "want"
            now = " now" if like.had else ""
            yield f"{names} {wants} {wanted} and{now} {'has' if one else 'have'} {goes} {on}"


def _alarms_told(missed: MissedTravel, *, one: bool) -> Iterator[str]:
    """What is alarming of a travel, as what is said of one destination or of several."""
    if missed.reversed:
        turned = f"{'is' if one else 'are'} turned round"
        as_wanted = "" if missed.right else f" as {'it wants' if one else 'they want'}"
        yield f"{'goes' if one else 'go'} the other way{as_wanted}" if missed.its_way else turned
    if missed.still:
        yield f"{'stands' if one else 'stand'} still"
    if missed.louder:
        than = "before" if missed.had else "it wants" if one else "they want"
        yield f"{'goes' if one else 'go'} higher than {than}"
    ends = [f"below {missed._share(_lowest(missed.given))} %"] if missed.lifted else []
    ends += [f"above {missed._share(_highest(missed.given))} %"] if missed.lowered else []
    if ends:
        yield f"can no longer be turned {' or '.join(ends)}"
    if missed.faint:
        yield f"{'reaches' if one else 'reach'} only {missed._share(_highest(missed.given))} %"


def _lowest(travel: Travel) -> int:
    return min(travel.start, travel.end)


def _highest(travel: Travel) -> int:
    return max(travel.start, travel.end)


def alarms_named(missed: Iterable[MissedTravel], show: Callable[[str], str] = str) -> str:
    """What a player must know of missed travels before the first note: names and knobs alone.

    Args:
        missed: what is missed.
        show: what a name is shown as.

    Returns:
        A sentence for each sort; empty where there is nothing of the kind.
    """
    told = alarms_by_sort(missed, show)
    return " ".join(f"{what.capitalize()}: {named}." for what, named in told)


ALARMS = (
    "turned round",
    "higher than it was",
    "not as low as it was",
    "standing still",
    "reaching half at most",
)
"""What each of ``MissedTravel.alarms`` is called, in their order."""


def alarms_by_sort(
    missed: Iterable[MissedTravel],
    show: Callable[[str], str] = str,
    known: Iterable[MissedTravel] = (),
) -> Iterator[tuple[str, str]]:
    """The same in parts.

    Args:
        missed: what is missed.
        show: what a name is shown as.
        known: what need not be told again, be it on another knob.

    Yields:
        One of :data:`ALARMS`, and the names and knobs of which it is so; last what is now as it is
        wanted, or the way round that it is, and has to be known all the same.
    """

    def named(those: Iterable[MissedTravel]) -> str:
        on = grouped((m.knob, show(m.destination)) for m in those)
        told = [f"{listed(names)} ({show(knob_told(k))})" for k, names in on.items()]
        return listed(told, len(told))

    every = tuple(missed)
    old = {
        (each.destination, at) for each in known for at, is_so in enumerate(each.alarms) if is_so
    }
    for at, what in enumerate(ALARMS):
        those = [m for m in every if m.alarms[at] and (m.destination, at) not in old]
        if wrong := named(m for m in those if not (m.right or (m.its_way and not at))):
            yield what, wrong
    if turned := named(m for m in every if m.reversed and m.its_way and not m.right):
        yield "the other way than before, as wanted", turned
    if mended := named(m for m in every if m.alarming and m.right):
        yield "otherwise than before, as wanted", mended


def missed_in(request: Request, layout: Layout) -> tuple[MissedTravel, ...]:
    """What a layout misses of the travels that a request wants, route by route.

    In a setup in use a destination is to go over what it went over, which is told as that.

    Args:
        request: what was asked.
        layout: its routes and travels.
    """
    inner, top, goes = request.by_full_name, request.surface.top, layout.goes
    had = request.previous.goes if request.in_use and request.previous else {}
    return tuple(
        MissedTravel(
            name, route.knob, wanted, goes[name], top, inner[name].kind, had.get(name) == wanted
        )
        for route in layout.routes
        if (name := route.destination) in goes and (wanted := request.wanted(name)) != goes[name]
    )


def missed_between(before: Setup | None, after: Setup) -> tuple[MissedTravel, ...]:
    """What is missed in a setup that was made of another.

    A destination wants the travel that its voice says; where that says none, the one that it had
    beside other things. What has a knob to itself has the travel that it was given on purpose, but
    for what a player must know of all the same.

    Args:
        before: the setup as it was; None: it was made of none.
        after: what it becomes.

    Returns:
        What is missed, knob by knob in panel order; nothing where travels are set on routes.
    """
    if after.surface.per_route:
        return ()
    new = read(after)
    had, carried = _had(before, after)
    found = []
    for knob, names in new.carries.items():
        given = new.goes[knob]
        same = set(names) == carried.get(knob)
        for name in names:
            inner = new.destinations[name]
            wanted = inner.travel or (given if same else had.get(name, given))
            missed = MissedTravel(name, knob, wanted, given, after.surface.top, inner.kind)
            if given != wanted if len(names) > 1 else inner.travel and missed.alarming:
                found.append(missed)
    return tuple(found)


def changed_travels(before: Setup | None, after: Setup) -> tuple[MissedTravel, ...]:
    """What goes over another travel than it did, knob by knob in panel order.

    Args:
        before: the setup as it was; None: it was made of none.
        after: what it becomes.

    Returns:
        Each with the travel that it had; nothing where travels are set on routes. What wants none
        any more since it is where it was again wants what it wanted before.
    """
    if before is None or after.surface.per_route:
        return ()
    new, old, top = read(after), read(before).destinations, after.surface.top
    had, _ = _had(before, after)
    found = []
    for knob, names in new.carries.items():
        goes = new.goes[knob]
        for name in names:
            if had.get(name, goes) != goes:
                own = new.destinations[name]
                wish = own.travel or (old[name].travel if name in old else None)
                missed = MissedTravel(name, knob, had[name], goes, top, own.kind, had=True)
                its_way = wish is not None and wish.reversed == goes.reversed
                found.append(attrs.evolve(missed, right=goes == wish, its_way=its_way))
    return tuple(found)


def alarming_in(before: Setup | None, after: Setup) -> tuple[MissedTravel, ...]:
    """What a player must know of travels before the first note, unlike before or what is wanted.

    All of it is one of :data:`ALARMS`: that a level is lower than it was (``told_first``) must not
    stand in place of what is alarming of it beside what it wants.

    Args:
        before: the setup as it was; None: it was made of none.
        after: what it becomes.

    Returns:
        Each once, what was otherwise before first; nothing where travels are set on routes.
    """
    if after.surface.per_route:
        return ()
    changed = {each.destination: each for each in changed_travels(before, after) if each.alarming}
    missed = missed_between(before, after)
    wished = (each for each in missed if each.alarming and each.destination not in changed)
    return (*changed.values(), *wished)


def _had(before: Setup | None, after: Setup) -> tuple[dict[str, Travel], dict[str, set[str]]]:
    """Over what each destination went, in positions of now; what was on each knob."""
    if before is None:
        return {}, {}
    old, bits = read(before), (before.surface.bits, after.surface.bits)
    carried = {knob: set(names) for knob, names in old.carries.items()}
    return {r.destination: scaled_travel(old.led(r), *bits) for r in old.routes}, carried
