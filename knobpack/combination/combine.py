"""combine(): voices from any number of setups brought to a base, and allocated there."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import attrs

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.combination.asking import Asked, added_names, asked
from knobpack.combination.basing import Based, based
from knobpack.combination.guest import Guest, guest
from knobpack.combination.naming import labels
from knobpack.combination.report import Brought, Carried, Combination, Left, Source
from knobpack.errors import InputError
from knobpack.limits import DEFAULT_EFFORT, Progress, check_limits
from knobpack.words import Rule, Setup, Snapshot, Travel, Weights
from knobpack.words.fields import as_tuple, check_kind, check_name


def combine(  # noqa: PLR0913 - each keyword is one thing to ask for
    base: Setup,
    *sources: Setup | Source,
    name: str | None = None,
    rules: Iterable[Rule] = (),
    snapshots: Iterable[Snapshot] | None = None,
    free: Iterable[str] = (),
    unreached: bool = False,
    weights: Weights | None = None,
    time_limit: float | None = None,
    effort: float = DEFAULT_EFFORT,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> Combination:
    """Bring voices of other setups to a base, and find the best layout for all of them.

    What the base has stays as it is, but for what is freed: its routes, travels, layers, groups
    and snapshots, faults among them. Each source's voices get layers that are free; what a
    working knob of the source drove is to be driven again, over the same share of full travel, in
    the base's resolution. What one knob carried it had better carry again, unless that costs more
    than to part it. Names that are taken get the name of their setup added.

    The snapshots are those of the base, one in which everything moves, one for the base and for
    each source alone, and those of the sources; of two that move the same the first stands: what a
    source calls ``all`` is not all here. Where the surface stores no more, the last are left. In
    the base's own snapshots what is new is held, in an earlier ``everything`` too: the new one is
    then called ``everything with …``.

    Travels are rescaled once, from their source to the base. Bring setups of different
    resolutions in one call, not one after another by way of a third.

    Args:
        base: the setup that everything comes to.
        sources: the setups to bring voices from, in this order; a Source picks some of them.
        name: what the result is called; None: the name of the base.
        rules: together, apart, alone, fixed and barred, in the names of the result.
        snapshots: to have in place of all but the base's, in the names of the result.
        free: voices, groups or destinations of the base whose routes may be moved to make room; as
            few as possible are, and none is left out.
        unreached: whether to find a knob also for what no knob of its source drove. For what must
            be placed one is always looked for.
        weights: what each thing a layout does badly costs; None: the default weights.
        time_limit: seconds after which the search is cut off, 0 to 10**9; None: none.
        effort: deterministic effort after which the search stops, 0 to 10**9.
        progress: told, now and then, how far the search is.
        cancel: asked now and then; once it says yes, the best so far is taken.

    Returns:
        The result, its allocation, and where everything went.

    Raises:
        InputError: something given is not what it must be.
        ImpossibleDemands: no layout meets every demand; says which clash, and the ways out.
        NoLayoutFound: the search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, Route, Setup, Surface, Voice, combine
        >>> piano = Voice("Felt piano", (Destination("level"),), layer=1)
        >>> base = Setup(
        ...     "Evening set",
        ...     Surface.row(2),
        ...     voices=(piano,),
        ...     routes=(Route("Felt piano/level", "K1"),),
        ... )
        >>> pad = Voice("Glass pad", (Destination("cutoff"),), layer=1)
        >>> reached = (Route("Glass pad/cutoff", "K3"),)
        >>> source = Setup("Harbour set", Surface.row(4, bits=10), voices=(pad,), routes=reached)
        >>> result = combine(base, source)
        >>> for each in result.carried:
        ...     print(each.full_name, "on layer", each.new_layer, "and", each.new_knob)
        Glass pad/cutoff on layer 2 and K2
    """
    check_kind("combine.base", base, Setup)
    if name is not None:
        check_name("combine.name", name)
    check_kind("combine.unreached", unreached, bool)
    check_limits("combine", time_limit, effort, progress, cancel)
    given = _sources(sources)
    kept = based(base, _listed("free", (free,) if isinstance(free, str) else free))
    guests = _guests(kept, given, unreached)
    asks = asked(
        kept,
        guests,
        added_names(base, [one.label for one in guests]),
        _listed("rules", rules),
        None if snapshots is None else _listed("snapshots", snapshots),
        weights,
    )
    allocation = allocate_request(
        asks.request, time_limit=time_limit, effort=effort, progress=progress, cancel=cancel
    )
    setup, reset = _result(name or base.name, kept, guests, asks, allocation)
    return Combination(
        base=base.name,
        request=asks.request,
        allocation=allocation,
        setup=setup,
        carried=(*_stayed(kept, setup, allocation), *_carried(guests, setup, allocation)),
        brought=(*_brought(guests, setup), *asks.brought),
        left=(
            *kept.left,
            *_settled(base, setup),
            *reset,
            *(each for one in guests for each in one.left),
            *asks.left,
            *_still(setup.name, asks, allocation),
        ),
    )


def _listed(what: str, given: Any) -> tuple[Any, ...]:
    found = as_tuple(given)
    if not isinstance(found, tuple):
        raise InputError(f"combine.{what}", given, "give a list")
    return found


def _sources(given: Sequence[Setup | Source]) -> list[Source]:
    for position, each in enumerate(given):
        if not isinstance(each, Setup | Source):
            raise InputError(f"combine.sources[{position}]", each, "give a Setup or a Source")
    return [each if isinstance(each, Source) else Source(each) for each in given]


def _guests(base: Based, sources: Sequence[Source], unreached: bool) -> list[Guest]:
    """What each source brings, its names different from those of the base and of each other."""
    setup = base.setup
    origins = {voice.source for voice in setup.voices if voice.source is not None}
    called = labels((each.setup.name for each in sources), {setup.name, *origins})
    taken = base.taken
    stored = {snapshot.name for snapshot in setup.snapshots}
    stored |= set(added_names(setup, called).values())
    found = []
    for source, label in zip(sources, called, strict=True):
        one = guest(source, label, taken, stored, setup.surface.bits, unreached)
        taken |= set(one.names.values())
        stored |= {snapshot.name for _, snapshot in one.snapshots}
        found.append(one)
    return found


def _result(
    name: str, base: Based, guests: Sequence[Guest], asks: Asked, allocation: Allocation
) -> tuple[Setup, list[Left]]:
    """The base with all that was brought; the travels of dead knobs that are set anew."""
    setup = base.setup
    layer = {place.voice: place.new for place in allocation.layers}
    kept = {route.destination for route in base.keep.routes}
    routes = tuple(route for route in allocation.routes if route.destination not in kept)
    fresh = {route.knob for route in routes} - {route.knob for route in base.keep.routes}
    given = {each.knob: each for each in allocation.travels if each.knob in fresh}
    own = tuple(each for each in setup.travels if given.get(each.knob, each) == each)
    drove = {route.knob for route in base.freed.values()}
    reset = [
        Left(
            setup.name,
            "travel",
            f"{old.travel} of {old.knob}",
            f"becomes {given[old.knob].travel}: "
            + ("what it drove is free to move" if old.knob in drove else "the knob drove nothing"),
        )
        for old in setup.travels
        if old not in own
    ]
    found = Setup(
        name=name,
        surface=setup.surface,
        voices=(
            *(attrs.evolve(v, layer=v.layer or layer[v.name]) for v in setup.voices),
            *(attrs.evolve(v, layer=layer[v.name]) for one in guests for v in one.voices),
        ),
        groups=(*setup.groups, *(group for one in guests for group in one.groups)),
        routes=(*base.staying, *routes),
        travels=(*own, *(each for each in given.values() if each not in own)),
        snapshots=(*setup.snapshots, *asks.snapshots),
    )
    return found, reset


def _stayed(base: Based, setup: Setup, allocation: Allocation) -> list[Carried]:
    """Where each destination of the base is that was freed."""
    travels = base.reading.travels
    return [
        _where(
            setup,
            allocation,
            route.destination,
            (base.setup.name, voice.name, voice.layer, route.knob, travels[route.knob]),
        )
        for voice in base.setup.voices
        for route in (base.freed.get(voice.full_name(inner)) for inner in voice.destinations)
        if route is not None
    ]


def _carried(guests: Sequence[Guest], setup: Setup, allocation: Allocation) -> list[Carried]:
    return [
        _where(
            setup,
            allocation,
            one.new_name(wish),
            (one.label, wish.voice.name, wish.voice.layer, wish.knob, wish.travel),
        )
        for one in guests
        for wish in one.wishes
    ]


def _where(
    setup: Setup,
    allocation: Allocation,
    full: str,
    before: tuple[str, str, int | None, str | None, Travel | None],
) -> Carried:
    """Where a destination is now, by its full name; ``before`` says where it was."""
    source, voice, old_layer, old_knob, old_travel = before
    new_voice, destination = full.split("/", 1)
    knob = next((r.knob for r in allocation.routes if r.destination == full), None)
    travel = next((each.travel for each in allocation.travels if each.knob == knob), None)
    return Carried(
        source=source,
        voice=voice,
        destination=destination,
        old_layer=old_layer,
        old_knob=old_knob,
        old_travel=old_travel,
        new_voice=new_voice,
        new_layer=_layer(setup, new_voice),
        wanted=allocation.request.wanted(full),
        new_knob=knob,
        new_travel=travel,
        beside=tuple(name for name in allocation.on(knob or "") if name != full),
    )


def _layer(setup: Setup, voice: str) -> int:
    """The layer of a voice of the result, where each has one."""
    return next(each.layer for each in setup.voices if each.name == voice and each.layer)


def _brought(guests: Sequence[Guest], setup: Setup) -> list[Brought]:
    found = []
    for one in guests:
        for voice in one.old_voices:
            new = one.names[voice.name]
            layer = _layer(setup, new)
            found.append(Brought(one.label, "voice", voice.name, new, voice.layer, layer))
        voices = {voice.name for voice in one.old_voices}
        found += [
            Brought(one.label, "group", old, new)
            for old, new in one.names.items()
            if old not in voices
        ]
    return found


def _settled(base: Setup, setup: Setup) -> list[Left]:
    """The voices of the base that had no layer."""
    return [
        Left(base.name, "voice", before.name, f"had no layer and is on layer {now.layer} now")
        for before, now in zip(base.voices, setup.voices, strict=False)
        if before.layer is None
    ]


def _still(name: str, asks: Asked, allocation: Allocation) -> list[Left]:
    """The new snapshots that move nothing because all that they move is left out."""
    request = asks.request
    out = set(allocation.unplaced)
    new = {each.name for each in asks.snapshots}
    return [
        Left(name, "snapshot", each.name, "moves nothing: all that it moves is left out")
        for each in request.played
        if each.name in new and (moved := request.moved(each)) and moved <= out
    ]
