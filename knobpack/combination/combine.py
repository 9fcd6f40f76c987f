"""combine(): voices from any number of setups brought to a host, and allocated there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import attrs

from knobpack.allocation import Allocation
from knobpack.allocator import DEFAULT_EFFORT, allocate_request
from knobpack.combination.guest import (
    Guest,
    empty_groups,
    guest,
    renamed,
    travels_of,
    unique,
)
from knobpack.combination.report import Carried, Combination, Left, Source
from knobpack.errors import InputError
from knobpack.words import (
    Destination,
    Group,
    KnobTravel,
    Layout,
    Request,
    Route,
    Rule,
    Setup,
    Snapshot,
    Travel,
    Voice,
    VoiceLayer,
    Weights,
)
from knobpack.words.demand import listed
from knobpack.words.edits import only
from knobpack.words.fields import as_tuple

BROKEN = 1_000
"""What it costs, for each destination wronged, to break a snapshot that the host breaks already."""


def combine(
    host: Setup,
    *sources: Setup | Source,
    name: str | None = None,
    rules: Iterable[Rule] = (),
    snapshots: Iterable[Snapshot] | None = None,
    free: Iterable[str] = (),
    unreached: bool = False,
    weights: Weights | None = None,
    effort: float = DEFAULT_EFFORT,
) -> Combination:
    """Bring voices of other setups to a host, and find the best layout for all of them.

    What the host has stays as it is, but for what is freed: its routes, travels, layers and snapshots. Each source's
    voices get layers that are free; what a working knob of the source drove is to be driven
    again, over the same share of full travel, in the host's resolution. Names that are taken get
    the name of their setup added. Snapshots are those of the host and of the sources, one in which
    everything moves, and one for each source alone and for the host alone; of two that move the
    same, the first is kept.

    Args:
        host: the setup that everything comes to.
        sources: the setups to bring voices from, in this order; a Source picks some of them.
        name: what the result is called; None: the name of the host.
        rules: together, apart, alone, fixed and barred, in the names of the result.
        snapshots: to have in place of those above, in the names of the result.
        free: voices, groups or destinations of the host whose routes may be moved to make room;
            as few as possible are.
        unreached: whether to find a knob also for what no knob of its source drove.
        weights: what each thing a layout does badly costs; None: the default weights.
        effort: deterministic effort after which the search stops.

    Returns:
        The result, its allocation, and where everything went.

    Raises:
        InputError: something given is not what it must be.
        ImpossibleDemands: no layout meets every demand; says which clash, and the ways out.
        NoLayoutFound: the search was stopped before any layout was known.
    """
    taken = {host.name, *(voice.name for voice in host.voices)}
    taken |= {group.name for group in host.groups} | {each.name for each in host.snapshots}
    given = [each if isinstance(each, Source) else Source(each) for each in sources]
    bits = host.surface.bits
    guests = [guest(source, taken, bits, unreached) for source in given]
    freed = _freed(host, as_tuple(free))
    keep, left = _kept(host, freed)
    request = _request(host, guests, keep, freed, tuple(rules), unreached)
    if snapshots is not None:
        request = attrs.evolve(request, snapshots=as_tuple(snapshots))
        merged: list[Left] = []
    else:
        request, merged = _distinct(request, host, guests, taken)
    if weights is not None:
        request = attrs.evolve(request, weights=weights)
    request, torn = _tolerant(request, host)
    allocation = allocate_request(request, effort=effort)
    own = [each for one in guests for each in one.left]
    return Combination(
        request=request,
        allocation=allocation,
        setup=_result(name or host.name, host, freed, guests, allocation),
        carried=_carried(guests, allocation),
        left=(*left, *torn, *own, *merged),
    )


def _freed(host: Setup, names: tuple[str, ...]) -> dict[str, Route]:
    """The routes of the host that may be moved, by their destinations."""
    whole = Request(host.surface, host.voices, _groups(host, _names(host)), snapshots=())
    for position, name in enumerate(names):
        if name not in whole.members:
            right = "name a voice, a group, or voice/destination of the host"
            raise InputError(f"combine.free[{position}]", name, right)
    inside = set(whole.named(names))
    knobs = set(host.surface.knob_names)
    found: dict[str, Route] = {}
    for route in host.routes:
        if route.destination in inside and route.knob in knobs:
            found.setdefault(route.destination, route)
    return found


def _kept(host: Setup, freed: dict[str, Route]) -> tuple[Layout, list[Left]]:
    """What of the host stays where it is, and what cannot be looked after."""
    there = {voice.full_name(inner) for voice in host.voices for inner in voice.destinations}
    knobs = set(host.surface.knob_names)
    routes: dict[str, Route] = {}
    left = []
    for route in host.routes:
        told = f"{route.knob} to {route.destination}"
        if route.destination not in there or route.knob not in knobs:
            left.append(Left(host.name, "route", told, "leads nowhere and stays so"))
        elif route.destination in routes:
            why = f"is a second one and stays so: {routes[route.destination].knob} drives it too"
            left.append(Left(host.name, "route", told, why))
        else:
            routes[route.destination] = route
    routes = {name: route for name, route in routes.items() if name not in freed}
    travels = travels_of(host)
    used = dict.fromkeys(route.knob for route in routes.values())
    layers = (VoiceLayer(v.name, v.layer) for v in host.voices if v.layer is not None)
    settings = (KnobTravel(knob, travels[knob]) for knob in used)
    return Layout(tuple(routes.values()), tuple(settings), tuple(layers)), left


def _request(
    host: Setup,
    guests: Sequence[Guest],
    keep: Layout,
    freed: dict[str, Route],
    rules: tuple[Rule, ...],
    unreached: bool,
) -> Request:
    """What is asked: the host as it is, and a knob for all that a source drove."""
    kept = {route.destination for route in keep.routes}
    travels = travels_of(host)
    own = tuple(
        attrs.evolve(
            voice,
            source=_origin(host, voice),
            destinations=tuple(
                _own(inner, travels, freed.get(voice.full_name(inner)))
                for inner in voice.destinations
            ),
        )
        for voice in host.voices
    )
    surface = host.surface
    doubled = [knob for knob in _second_knobs(host, keep) if knob not in surface.reserved]
    names = _names(host)
    whole = Request(
        surface=attrs.evolve(surface, reserved=(*surface.reserved, *doubled)),
        voices=(*own, *(voice for one in guests for voice in one.voices)),
        groups=(*_groups(host, names), *(group for one in guests for group in one.groups)),
        snapshots=(
            *_snapshots(host, names),
            *(snapshot for one in guests for snapshot in one.snapshots),
        ),
        rules=rules,
        keep=keep,
        previous=Layout(tuple(freed.values())) if freed else None,
    )
    wanted = {name for one in guests for name in one.wanted} | kept | set(freed)
    if unreached:
        brought = {voice.name for one in guests for voice in one.voices}
        wanted |= {n for n, voice in whole.voice_of.items() if voice.name in brought}
    return only(whole, wanted)


def _own(inner: Destination, travels: dict[str, Travel], freed: Route | None) -> Destination:
    """A destination of the host: what is freed wishes for what it has, all else has it."""
    if freed is None:
        return attrs.evolve(inner, source_knob=None, travel=None)
    return attrs.evolve(inner, travel=inner.travel or travels[freed.knob])


def _origin(host: Setup, voice: Voice) -> str | None:
    """Where a voice of the host came from, told apart from a source of the same name."""
    return None if voice.source is None else f"{voice.source} in {host.name}"


def _second_knobs(host: Setup, keep: Layout) -> list[str]:
    """Knobs that drive what another knob drives too: nothing new may be put on them."""
    kept = {route.destination: route.knob for route in keep.routes}
    return sorted(
        {r.knob for r in host.routes if kept.get(r.destination, r.knob) != r.knob}
        & set(host.surface.knob_names)
    )


def _names(host: Setup) -> dict[str, str]:
    """The voices of the host, and its groups as far as they hold anything, under their names."""
    voices = {voice.name: voice.name for voice in host.voices}
    gone = empty_groups(host, voices)
    return voices | {group.name: group.name for group in host.groups if group.name not in gone}


def _groups(host: Setup, names: dict[str, str]) -> tuple[Group, ...]:
    return tuple(
        attrs.evolve(group, members=renamed(host, group.members, names, names))
        for group in host.groups
        if group.name in names
    )


def _snapshots(host: Setup, names: dict[str, str]) -> tuple[Snapshot, ...]:
    fixed = {v.full_name(d) for v in host.voices for d in v.destinations if not d.movable}
    return tuple(
        attrs.evolve(
            each,
            moves=tuple(n for n in renamed(host, each.moves, names, names) if n not in fixed),
        )
        for each in host.snapshots
    )


def _distinct(
    request: Request, host: Setup, guests: Sequence[Guest], taken: set[str]
) -> tuple[Request, list[Left]]:
    """The request with one snapshot for all and one for each source, and none that is one twice."""
    parts = [(one.label, tuple(voice.name for voice in one.voices)) for one in guests]
    own = tuple(voice.name for voice in host.voices)
    more = [("everything", (*own, *(name for _, names in parts for name in names)))]
    more += [(f"only {label}", names) for label, names in [(host.name, own), *parts] if names]
    added = [Snapshot(unique(name, taken, "combined"), moves) for name, moves in more]
    source_of = {each.name: one for one in guests for each in one.snapshots}
    played: list[Snapshot] = list(request.played[: len(host.snapshots)])
    known = {request.moved(each): each.name for each in reversed(played)}
    left = []
    for each in (*added, *request.played[len(host.snapshots) :]):
        moved = request.moved(each)
        if not moved:
            continue
        if moved not in known:
            known[moved] = each.name
            played.append(each)
        elif each.name in source_of:
            setup = source_of[each.name].source.setup.name
            why = f"moves the same as '{known[moved]}', which stands for it"
            left.append(Left(setup, "snapshot", each.name, why))
    return attrs.evolve(request, snapshots=tuple(played)), left


def _tolerant(request: Request, host: Setup) -> tuple[Request, list[Left]]:
    """The request with those snapshots open to breaking that the host breaks already."""
    on: dict[str, list[str]] = {}
    for route in request.keep.routes:
        on.setdefault(route.knob, []).append(route.destination)
    torn = []
    played = []
    for each in request.played:
        moved = request.moved(each)
        knobs = [k for k, names in on.items() if len({name in moved for name in names}) > 1]
        if knobs and each.break_weight is None:
            why = f"is broken by the host's own routes on {listed(knobs)} and stays so"
            torn.append(Left(host.name, "snapshot", each.name, why))
        opened = attrs.evolve(each, break_weight=BROKEN)
        played.append(opened if knobs and each.break_weight is None else each)
    return attrs.evolve(request, snapshots=tuple(played)), torn


def _result(
    name: str,
    host: Setup,
    freed: dict[str, Route],
    guests: Sequence[Guest],
    allocation: Allocation,
) -> Setup:
    """The host with all that was brought; nothing that the host had is changed."""
    layer = {place.voice: place.new for place in allocation.layers}
    kept = {route.destination for route in allocation.request.keep.routes}
    routes = tuple(route for route in allocation.routes if route.destination not in kept)
    used = {route.knob for route in allocation.request.keep.routes}
    fresh = {route.knob for route in routes} - used
    own = tuple(setting for setting in host.travels if setting.knob not in fresh)
    request = allocation.request
    return Setup(
        name=name,
        surface=host.surface,
        voices=tuple(
            attrs.evolve(voice, layer=layer[voice.name])
            for voice in (*host.voices, *(voice for one in guests for voice in one.voices))
        ),
        groups=(*host.groups, *(group for one in guests for group in one.groups)),
        routes=(*(route for route in host.routes if route not in freed.values()), *routes),
        travels=(*own, *(each for each in allocation.travels if each.knob in fresh)),
        snapshots=(*host.snapshots, *request.played[len(host.snapshots) :]),
    )


def _carried(guests: Sequence[Guest], allocation: Allocation) -> tuple[Carried, ...]:
    layer = {place.voice: place.new for place in allocation.layers}
    knob_of = {route.destination: route.knob for route in allocation.routes}
    travels = {setting.knob: setting.travel for setting in allocation.travels}
    found = []
    for one in guests:
        for wish, full in zip(one.wishes, one.wanted, strict=True):
            knob = knob_of.get(full)
            found.append(
                Carried(
                    source=one.source.setup.name,
                    voice=wish.voice.name,
                    destination=wish.destination.name,
                    old_layer=wish.voice.layer,
                    old_knob=wish.knob,
                    old_travel=wish.travel,
                    new_voice=one.names[wish.voice.name],
                    new_layer=layer[one.names[wish.voice.name]],
                    wanted=allocation.request.wanted(full),
                    new_knob=knob,
                    new_travel=None if knob is None else travels[knob],
                    beside=tuple(n for n in allocation.on(knob or "") if n != full),
                )
            )
    return tuple(found)
