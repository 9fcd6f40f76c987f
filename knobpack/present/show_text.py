"""Show text: a show as a player reads it in a terminal, plain lines of at most so many columns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from knobpack.definition.phrases import CAUTION
from knobpack.errors import ended
from knobpack.show import ShowAllocation, ShowThere
from knobpack.show.faults import doing_nothing
from knobpack.show.setups import alarms_in_songs
from knobpack.text.columns import PAGE, headed, listing, text_of
from knobpack.words.loudness import level_like
from knobpack.words.names import knob_told, knobs_told, listed


def show_text(
    laid_out: ShowAllocation,
    page: int = PAGE,
    *,
    details: bool = True,
    notes: Iterable[str] = (),
    first: Iterable[str] | None = None,
) -> str:
    """A show as text: how good it is, its songs, and what the hand finds on each knob.

    Args:
        laid_out: what :func:`knobpack.show.allocate_show` gave.
        page: columns of a terminal that a line may take, at most.
        details: whether to tell points and proofs too.
        notes: sentences that come below how good it is.
        first: sentences that come before all others; None: what is lost or alarming in it.

    Returns:
        Lines of at most so many columns, the last one ended too.
    """
    sections = [
        headed(
            f"SHOW  {laid_out.show.name}",
            [
                *(laid_out.losses if first is None else first),
                *laid_out.verdict,
                *laid_out.travel_sentences,
                *notes,
            ],
            page,
        ),
        _songs(laid_out, page),
        _knobs(laid_out, page),
        _travels(laid_out, page),
        _tiers(laid_out, page) if details else [],
        _caution(laid_out, page),
    ]
    return text_of(sections)


def in_songs(numbers: Sequence[int], count: int) -> str:
    """The numbers of songs, rows of three or more by their ends: ``1, 4 to 7 and 12``.

    Args:
        numbers: counted from 1, ascending.
        count: how many songs there are; where all are meant, that is said.
    """
    if len(numbers) == count > 1:
        return "all"
    rows = [
        [number for _, number in row]
        for _, row in groupby(enumerate(numbers), key=lambda pair: pair[1] - pair[0])
    ]
    parts = [(row[0], f"{row[0]} to {row[-1]}") for row in rows if len(row) > 2]
    parts += [(number, str(number)) for row in rows if len(row) < 3 for number in row]
    return listed([text for _, text in sorted(parts)], len(parts))


def there_text(there: ShowThere, page: int = PAGE) -> str:
    """What else is otherwise on another panel as text, a block for each song.

    Args:
        there: what :func:`knobpack.show.on_panel` gave.
        page: columns of a terminal that a line may take, at most.
    """
    told = [(f"'{each.song}':", *(f"  {line}." for line in each.told)) for each in there.songs]
    lines = [line for block in told if block[1:] for line in block]
    return text_of([headed("WHAT IS OTHERWISE THERE", [*lines, *there.same], page)])


def _songs(laid_out: ShowAllocation, page: int) -> list[str]:
    breaks = set(laid_out.show.breaks)
    rows = []
    for number, song in enumerate(laid_out.show.songs, 1):
        told = ["stays as it is"] if song.pinned else []
        told += ["then a break"] if song.name in breaks else []
        rows.append((str(number), song.name, ", ".join(told)))
    return listing(rows, title="THE SONGS", right={0}, page=page)


def _knobs(laid_out: ShowAllocation, page: int) -> list[str]:
    number = {song.name: at for at, song in enumerate(laid_out.show.songs, 1)}
    still = {name: doing_nothing(laid_out.setup(name)) for name in number}
    on: dict[str, list[tuple[str, str]]] = {}
    for thing in laid_out.things:
        for knob in thing.knobs:
            here = [each for each in thing.found if each.knob == knob]
            told = in_songs([number[each.song] for each in here], len(number))
            idle = [number[each.song] for each in here if each.destination in still[each.song]]
            if idle:
                where = f" in {in_songs(idle, len(number))}" if len(idle) < len(here) else ""
                told += f"; does nothing{where}"
            on.setdefault(knob, []).append((f"{thing.role}/{thing.name}", told))
    rows = []
    for knob in laid_out.show.surface.knob_names:
        for at, (name, told) in enumerate(on.get(knob, [("-", "")])):
            rows.append(("" if at else knob_told(knob), name, told))
    return listing(rows, title="WHAT THE HAND FINDS", head=("", "", "in songs"), page=page)


def _travels(laid_out: ShowAllocation, page: int) -> list[str]:
    number = {song.name: at for at, song in enumerate(laid_out.show.songs, 1)}
    rows = []
    for each in laid_out.several_travels:
        told = [
            f"{travel}{', the other way,' if (travel, songs) in each.turned_round else ''} "
            f"in {in_songs([number[song] for song in songs], len(number))}"
            for travel, songs in each.travels
        ]
        rows += [(knobs_told(each.knobs), name, "; ".join(told)) for name in each.destinations]
    return listing(rows, title="NOT OVER ONE TRAVEL", page=page)


def _tiers(laid_out: ShowAllocation, page: int) -> list[str]:
    rows = [(what, f"{value:,}", proof) for what, value, proof in laid_out.points]
    why = f"; {ended(laid_out.stopped)}" if laid_out.stopped else ""
    return listing(rows, title=f"POINTS  fewer are better{why}", right={1}, page=page)


def _caution(laid_out: ShowAllocation, page: int) -> list[str]:
    loud = any(level_like(thing.kind) for thing in laid_out.things)
    levels = [f"{each}." for each in laid_out.jumps.levels_told]
    told = [*alarms_in_songs(laid_out.alarming), *levels, *([CAUTION] if loud else [])]
    return headed("CAUTION", told, page) if told else []
