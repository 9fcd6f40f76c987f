"""Checked: layouts of songs as the answer for a show, once the plain checker has passed them."""

from __future__ import annotations

from collections.abc import Sequence

from knobpack.allocation import Allocation
from knobpack.allocation.checked import assembled, completed, insist
from knobpack.allocation.records import tiers_from
from knobpack.checker import check
from knobpack.errors import Fault, Stopped
from knobpack.show.answer import ShowAllocation
from knobpack.show.asked import AskedSong
from knobpack.show.definition import joined_in, priced_show
from knobpack.show.prices import SHOW_TIERS
from knobpack.show.song import Show
from knobpack.words import Layout


def checked_show(
    show: Show,
    asked: Sequence[AskedSong],
    layouts: Sequence[Layout],
    alone: Sequence[Allocation],
    *,
    bounds: Sequence[int],
    more_joined: int,
    stopped: Stopped | None,
) -> ShowAllocation:
    """The answer that some layouts are, once the plain checker has passed each of them.

    Args:
        show: what was asked.
        asked: what each song asks for.
        layouts: how each song is laid out.
        alone: what each is like by itself.
        bounds: for each tier of the show, a value that no show as good in the tiers before goes
            below.
        more_joined: how many loads more than alone may share a knob in a song.
        stopped: what cut the search short.

    Raises:
        Fault: a layout does not meet every demand, is worse than alone in a tier in which it may
            not be, or joins more than it may; or a value is below its bound.
    """
    songs = tuple(
        checked_song(each, layout, by_itself)
        for each, layout, by_itself in zip(asked, layouts, alone, strict=True)
    )
    whole = [laid.layout for laid in songs]
    prices = priced_show(asked, whole, (laid.prices for laid in songs), show.neighbours)
    tiers = tiers_from(SHOW_TIERS, prices.totals, bounds)
    for each in tiers:
        if each.value < each.bound:
            told = f"a show was found at {each.value} in tier {each.name}"
            raise Fault(f"{told}, below its bound {each.bound}")
    for song_loads in joined_in(songs, alone, show, more_joined):
        if song_loads.over:
            raise Fault(f"'{song_loads.song}' joins {song_loads.over} more than it may")
    for song, laid, by_itself in zip(show.songs, songs, alone, strict=True):
        for tier in SHOW_TIERS[:3]:
            if laid.prices.total(tier) > by_itself.prices.total(tier):
                raise Fault(f"'{song.name}' is worse than it is alone in tier {tier}")
    why = None if tiers[-1].proven else stopped
    return ShowAllocation(show, songs, tuple(alone), tuple(tiers), prices, more_joined, why)


def checked_song(asked: AskedSong, layout: Layout, alone: Allocation) -> Allocation:
    """One song laid out, checked; its bounds are those that it has alone, as far as they hold."""
    whole = completed(asked.request, layout)
    if whole == alone.layout:
        return alone
    found = check(asked.request, whole)
    insist("show", whole, found)
    values, bounds, holds = found.prices.totals, [], True
    for tier, value in zip(alone.tiers, values, strict=True):
        bounds.append(tier.bound if holds else 0)
        holds = holds and value == tier.value
    tiers = tiers_from((tier.name for tier in alone.tiers), values, bounds)
    stopped: Stopped | None = None if tiers[-1].proven else "its show"
    return assembled(asked.request, whole, found, tiers, stopped)
