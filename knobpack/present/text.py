"""Text: an allocation, a clash and a search as a player reads them in a terminal.

Plain lines of at most 100 columns, without colours. Every number is one of the allocation's own.
Only names take more than ASCII.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain

from knobpack.allocation import Allocation, Following, Tier
from knobpack.allocation.records import following_in
from knobpack.clash import Clash
from knobpack.definition.phrases import (
    PER_ROUTE,
    PRIORITIES,
    TIER_WORDS,
    essential_told,
    levels_told,
    many,
    travel_text,
)
from knobpack.errors import ended
from knobpack.grouped import grouped
from knobpack.limits import Progress
from knobpack.present.price_text import (
    change_lines,
    place_lines,
    rule_lines,
    sharing_lines,
    spread_lines,
)
from knobpack.present.setup_text import panel_lines
from knobpack.setups.as_read import read
from knobpack.setups.missed_travels import alarming_in, alarms_named
from knobpack.text.columns import PAGE, bulleted, listing, paragraph, table, text_of
from knobpack.words import Request, Setup, Travel
from knobpack.words.demand import sentences_of
from knobpack.words.loudness import level_like
from knobpack.words.names import knob_cells, knob_told, knobs_told, listed


def layout_text(
    allocation: Allocation, page: int = PAGE, setup: Setup | None = None, *, details: bool = True
) -> str:
    """An allocation as text: how good it is, each knob and snapshot, and what it costs.

    Args:
        allocation: what :func:`knobpack.allocate` gave back.
        page: columns of a terminal that a line may take, at most.
        setup: the setup that came of it, of which what is essential and left out is told already,
            and what was joined; None: it is the layout of a request, and no more.
        details: whether to tell points, proofs, layers and rules too.

    Returns:
        Lines of at most so many columns, the last one ended too.
    """
    stored = () if setup is None else following_in(setup)
    following = stored or allocation.following
    sections = (
        essential_lines(allocation.essential_out, page) if setup is None else [],
        _heading(allocation, page),
        _bundles(allocation, page) if details or setup is None else [],
        _tiers(allocation, page) if details else [],
        _left_out(allocation, page, details=details),
        _knobs(allocation, page)
        if details
        else panel_lines(setup or allocation.setup("layout"), page),
        _free_knobs(allocation, page, details=details),
        _snapshots(allocation, following, page, setup),
        *(each(allocation, page) for each in (_DETAILS if details else ())),
        _caution(allocation, following, page, setup),
    )
    return text_of(sections)


def essential_lines(names: Sequence[str], page: int = PAGE) -> list[str]:
    """That these essential destinations are left out; no lines where none are."""
    return [line for told in essential_told(names) for line in paragraph(told, 0, 2, page)]


def clash_text(clash: Clash, page: int = PAGE) -> str:
    """A clash as text: what clashes, each demand in a line of its own, and what would help.

    Args:
        clash: what clashes.
        page: columns of a terminal that a line may take, at most.

    Returns:
        Lines of at most so many columns, the last one ended too.
    """
    lines = ["no layout meets every demand. These clash:"]
    lines += bulleted(sentences_of(clash.demands), page=page)
    for remark in clash.remarks:
        lines += paragraph(remark, page=page)
    if clash.instructions:
        lines.append("To get out, do one of these:")
        lines += bulleted(clash.instructions, page=page)
    return "\n".join(lines) + "\n"


def progress_text(progress: Progress) -> str:
    """How far a search is, in one line without a line break."""
    value = "no layout yet" if progress.value is None else f"{progress.value:,} so far"
    about = f"{TIER_WORDS[progress.tier]}: {value}, cannot be below {progress.bound:,}"
    return f"{about} ({progress.seconds:.1f} s)"


def _heading(allocation: Allocation, page: int) -> list[str]:
    request = allocation.request
    good = "proven best" if allocation.proven else "best found, not proven best"
    if allocation.unplaced:
        lost = many(len(allocation.unplaced), "destination")
        part = "less cannot be, but how the rest is laid out is not proven best"
        part = part if allocation.tiers[0].proven else "not proven best"
        good = f"{lost} left out; {'none better, proven' if allocation.proven else part}"
    if allocation.stopped == "its show":
        good = "laid out for its show"
    elif allocation.stopped is not None:
        good += f": {ended(allocation.stopped)}"
    placed, asked = len(allocation.routes), len(request.by_full_name)
    used, knobs = len(allocation.used), len(request.surface.knobs)
    voices = many(len(request.voices), "voice")
    placing = f"{placed} of {many(asked, 'destination')} of {voices} placed"
    on_knobs = f"{placing}, on {used} of {many(knobs, 'knob')}"
    return [*paragraph(f"LAYOUT  {good}", 0, 2, page), *paragraph(on_knobs, 0, 2, page)]


def _bundles(allocation: Allocation, page: int) -> list[str]:
    """What was joined and parted: a player looks for that first."""
    lines = []
    joined = grouped((j.cause, (knob_told(j.knob), j.origins)) for j in allocation.joined)
    for cause, rows in joined.items():
        told = f"joined{cause}; what shares a knob can no longer be moved apart:"
        lines += [*paragraph(told, 2, 2, page), *listing(rows, indent=4, page=page)]
    if allocation.parted:
        parted = (paragraph(str(each), 4, 2, page) for each in allocation.parted)
        lines += ["  parted:", *chain.from_iterable(parted)]
    return ["BUNDLES", *lines] if lines else []


def _free_knobs(allocation: Allocation, page: int, *, details: bool) -> list[str]:
    """The knobs that carry nothing, and what the first of them could be used for."""
    from knobpack.explanation.free_knob import MOST_OFFERS, free_knob_offers

    used = allocation.used
    closed = allocation.request.surface.reserved
    free = [k for k in allocation.request.surface.knob_names if k not in used and k not in closed]
    if not free or not used:
        return []
    lines = paragraph(f"FREE KNOBS  {knobs_told(free)}: room for what comes next", 0, 2, page)
    offers = free_knob_offers(allocation)[:MOST_OFFERS] if details else ()
    told = (f"{offer}; ask for it with {offer.rule}" for offer in offers)
    return [*lines, *bulleted(told, page=page)]


def _tiers(allocation: Allocation, page: int) -> list[str]:
    rows = [(TIER_WORDS[tier.name], f"{tier.value:,}", _proof(tier)) for tier in allocation.tiers]
    heading = "HOW GOOD  points; fewer is better, and each line is made best before the next"
    return listing(rows, title=heading, right={1}, page=page)


def _proof(tier: Tier) -> str:
    if tier.proven:
        return "proven least"
    if tier.value > tier.bound:
        shared = (
            "least for what shares a knob here" if tier.as_shared == tier.value else "not proven"
        )
        return f"{shared}; it cannot be below {tier.bound:,}"
    return "proven least only for what the lines above came to"


def _left_out(allocation: Allocation, page: int, *, details: bool) -> list[str]:
    inner = allocation.request.by_full_name
    rows = []
    for each in allocation.prices.omissions:
        destination = inner[each.destination]
        priority = f"{destination.priority} {PRIORITIES[destination.priority - 1]}"
        # What is hidden costs nothing in the first line; less than to join it costs in another.
        tier = TIER_WORDS["sharing" if each.hidden else "unplaced"]
        price = f"{each.hidden or each.price:,}"
        costs = (price, f"in '{tier}'") if details else ()
        rows.append((each.destination, destination.kind, priority, *costs))
    heading = f"LEFT OUT{'  with what each costs, in points' if details else ''}"
    return listing(rows, title=heading, right={3}, page=page)


def _knobs(allocation: Allocation, page: int) -> list[str]:
    request, surface = allocation.request, allocation.request.surface
    goes = allocation.layout.goes
    kept = {route.destination: route.knob for route in request.keep.routes}
    added = {route.knob for route in allocation.routes if route.destination not in kept}
    new = {place.voice: place.new for place in allocation.layers}
    rows, knob_of_row = [], []
    for route in allocation.routes:
        destination = request.by_full_name[route.destination]
        among = route.destination in kept and route.knob in added
        notes = ["kept as the base has it"] if among else []
        notes += _notes(request, route.destination, goes[route.destination])
        layer = f"layer {new[request.voice_of[route.destination].name]}"
        priority = f"{destination.priority} {PRIORITIES[destination.priority - 1]}"
        rows.append((route.destination, layer, destination.kind, priority, "; ".join(notes)))
        knob_of_row.append(route.knob)
    under: dict[str, list[str]] = {knob: [] for knob in surface.knob_names}
    for knob, lines in zip(knob_of_row, table(rows, indent=6, page=page), strict=True):
        under[knob] += lines
    top = f"0 to {surface.top} ({surface.bits} bits)"
    where = f"; travel {PER_ROUTE}" if surface.per_route else ""
    found = paragraph(f"KNOBS  positions {top}{where}", 0, 2, page)
    travels = {setting.knob: setting.travel for setting in allocation.travels}
    for each in surface.knobs:
        marks = [] if each.name in allocation.used else ["unused"]
        marks += [travel_text(travels[each.name], surface.top)] if each.name in travels else []
        if each.name in kept.values():
            marks += [
                "the base's, with more on it" if each.name in added else "kept as the base has it"
            ]
        marks += ["reserved: takes no new route"] if each.name in surface.reserved else []
        marks += [f"usual here: {listed(each.usual)}"] if each.usual else []
        found += paragraph(f"{knob_told(each.name)}  {'; '.join(marks)}".rstrip(), 2, 4, page)
        found += under[each.name]
    return found


def _notes(request: Request, name: str, travel: Travel) -> Iterator[str]:
    """What a player should know of a destination on a knob with this travel."""
    destination, top = request.by_full_name[name], request.surface.top
    if not destination.movable:
        yield "the master must not move it"
    if destination.steps is not None:
        yield f"{destination.steps} steps"
    wanted = request.wanted(name)
    if request.surface.per_route:
        yield f"over {travel_text(travel, top)}"
    elif wanted != travel:
        asked = "was to have" if request.in_use else "wanted"
        yield f"{asked} {travel_text(wanted, top)}"


def _snapshots(
    allocation: Allocation, following: Sequence[Following], page: int, setup: Setup | None
) -> list[str]:
    rows = []
    # What a fault keeps out of the request has a knob all the same.
    carries = {} if setup is None else read(setup).carries
    used = [knob for knob, names in carries.items() if names] or allocation.used
    for each in following:
        hold = [knob for knob in used if knob not in each.knobs]
        rows.append((each.snapshot, knob_cells(each.knobs) or "none", knob_cells(hold) or "none"))
    blocks = iter(table(rows, head=("", "follow the master", "hold"), page=page))
    found = ["SNAPSHOTS", *next(blocks)]
    for each, lines in zip(following, blocks, strict=True):
        found += lines
        broken = (b for b in allocation.prices.breaks if b.snapshot == each.snapshot)
        found += bulleted((f"broken: {b}" for b in broken), 6, page)
    return found if following else []


def _layers(allocation: Allocation, page: int) -> list[str]:
    request = allocation.request
    kept = {request.voice_of[route.destination].name for route in request.keep.routes}
    rows = []
    for place in allocation.layers:
        old = "-" if place.old is None else str(place.old)
        note = "kept as the base has it" if place.voice in request.base_layers else ""
        # A voice without a source may be the base's, or a new one.
        source = place.source or ("the base" if note or place.voice in kept else "-")
        rows.append((place.voice, source, old, str(place.new), note))
    return listing(
        rows, title="LAYERS", head=("voice", "from", "old", "new", ""), right={2, 3}, page=page
    )


_DETAILS = (_layers, rule_lines, sharing_lines, spread_lines, change_lines, place_lines)
"""What is told besides where details are asked for."""


def _caution(
    allocation: Allocation, following: Sequence[Following], page: int, setup: Setup | None
) -> list[str]:
    moving = {knob for each in following for knob in each.knobs}
    goes = allocation.layout.goes
    loud = {
        route.knob
        for route in allocation.routes
        if route.knob in moving
        and not goes[route.destination].empty
        and level_like(allocation.request.by_full_name[route.destination].kind)
    }
    told = [alarms_named(allocation.missed if setup is None else alarming_in(None, setup))]
    where = knob_cells(knob for knob in allocation.request.surface.knob_names if knob in loud)
    told += [levels_told(f"move on {where}")] if loud else []
    lines = [line for each in filter(None, told) for line in paragraph(each, 2, 0, page)]
    return ["CAUTION", *lines] if lines else []
