"""combine(): voices from any number of setups brought to a base, and allocated there."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import attrs

from knobpack.clash import ImpossibleDemands
from knobpack.combination.answer import Combination
from knobpack.combination.base import KeptBase, kept_base
from knobpack.combination.contribution import Contribution, contribution
from knobpack.combination.giving_way import laid_out_combination
from knobpack.combination.offer import Offer
from knobpack.combination.offers import cheapest_offers
from knobpack.combination.report import GIVEN_UP, NotAsItWas, Source
from knobpack.combination.wanted import Wanted, check_once, listed_in, named_in, sources_in
from knobpack.combination.ways import taken, ways_to_place
from knobpack.combination.whereabouts import (
    brought_over,
    carried_over,
    played_anew,
    snapshots_brought,
    stayed,
)
from knobpack.errors import InputError, NoLayoutFound
from knobpack.limits import DEFAULT_EFFORT, QUARTER, Limits, Progress, Run, begun
from knobpack.words import Knob, Rule, Setup, Snapshot, Weights, converters
from knobpack.words.fields import check_kind, check_name, check_named
from knobpack.words.free_names import labels
from knobpack.words.voice import Member


def combine(  # noqa: PLR0913 - each keyword is one thing to ask for
    base: Setup,
    *sources: Setup | Source,
    name: str | None = None,
    rules: Iterable[Rule] = (),
    free: Member | Iterable[Member] = (),
    clear: str | Knob | Iterable[str | Knob] = (),
    give_up: str | Snapshot | Iterable[str | Snapshot] = (),
    insist: str | Snapshot | Iterable[str | Snapshot] = (),
    leave: str | Iterable[str] = (),
    again: bool = False,
    unreached: bool = False,
    weights: Weights | None = None,
    time_limit: float | None = None,
    effort: float = DEFAULT_EFFORT,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
    limits: Limits | None = None,
) -> Combination:
    """Bring voices of other setups to a base, and find the best layout for all of them.

    What the base has stays as it is, but for what is freed or cleared: its routes, travels, layers
    and groups, faults among them. Each source's voices get the next free layers; what a knob of the
    source did something to is to be driven again, over the same share of full travel, in the base's
    resolution. What one knob drove there is one bundle, and stays together. A knob that follows in
    no snapshot is turned by hand, and comes too. Names that are taken get the name of their setup
    added; voices for which there is no layer, and names that stand for nothing, are told first.

    The snapshot of the base that moves all that its others move takes in what the sources' own
    snapshots move; where the base has none, one is added. If none is left then that moves the base
    alone, one is added under its name. Each source has one: its own that moves all that its others
    move, under its own name where that is free, else one under the source's. The other snapshots of
    the sources come after those. Of two that move the same the first stands. Where the surface
    stores no more, the last are left. As few as can be give way where a whole source would find no
    knob, those of sources before that of the base; that is told first, and an offer adds the base's
    all the same. One of a source that comes to nothing gives way where more finds a knob without
    it. Where a base that has none of its own shares knobs with what came before, none is added. One
    source of a base without voices brings its own as they are, and one for all if none is.

    Where something finds no knob, the answer offers ways to place it: see :func:`taking`. The
    result remembers what came: see :func:`without_source`.

    Travels are rescaled once, from their source to the base. Bring setups of different
    resolutions in one call, not one after another by way of a third.

    Args:
        base: the setup that everything comes to.
        sources: the setups to bring voices from, in this order; a Source picks some of them.
        name: what the result is called; None: the name of the base.
        rules: together, apart, alone, fixed and barred, in the names of the result.
        free: voices, groups or destinations of the base whose routes may be moved to make room; as
            few as possible are, and none is left out.
        clear: knobs of the base that do nothing, whose routes go to make room.
        give_up: names of snapshots that would be added, and are not to be; or of the base's own,
            and are not to stay.
        insist: names of snapshots that would be added, and are to be, whatever finds no knob then.
        leave: full names, in the result, of what of the sources is not to be driven.
        again: whether to bring a source once more of which something is there already.
        unreached: whether to find a knob also for what no knob of its source drove. For what must
            be placed one is always looked for.
        weights: what each thing a layout does badly costs; None: the default weights.
        time_limit: seconds after which the search is cut off, 0 to 10**9; None: none.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        progress: told, now and then, how far the search is.
        cancel: asked now and then; once it says yes, the best so far is taken.
        limits: in place of those four, all of them in one value.

    Returns:
        The result, its allocation, and where everything went.

    Raises:
        InputError: something given is not what it must be; a ``ThereAlready`` if voices of a
            source are in the base already.
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
        >>> [snapshot.name for snapshot in result.setup.snapshots]
        ['everything', 'Evening set', 'Harbour set']
    """
    check_kind("combine.base", base, Setup)
    if name is not None:
        check_name("combine.name", name)
    check_kind("combine.again", again, bool)
    check_kind("combine.unreached", unreached, bool)
    run = begun("combine", effort, limits, time_limit, progress, cancel)
    wanted = Wanted(
        base,
        sources_in(sources),
        name,
        listed_in("rules", rules),
        named_in("free", free, converters.member_names),
        named_in("clear", clear, converters.knob_names),
        named_in("give_up", give_up, converters.snapshot_names),
        named_in("insist", insist, converters.snapshot_names),
        named_in("leave", leave, converters.texts),
        again,
        unreached,
        weights,
    )
    if not again:
        check_once(base, wanted.sources)
    return _with_offers(wanted, run)


def taking(
    found: Combination,
    offer: Offer,
    *,
    time_limit: float | None = None,
    effort: float = DEFAULT_EFFORT,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
    limits: Limits | None = None,
) -> Combination:
    """Combine once more what was combined, with an offer taken.

    Args:
        found: what :func:`combine` gave back.
        offer: one of ``found.offers``.
        time_limit: seconds after which the search is cut off, 0 to 10**9; None: none.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        progress: told, now and then, how far the search is.
        cancel: asked now and then; once it says yes, the best so far is taken.
        limits: in place of those four, all of them in one value.

    Returns:
        The result, as :func:`combine` gives it.

    Raises:
        InputError: an argument is of another kind, or the offer is none of this combination.
        NoLayoutFound: the search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, Route, Setup, Snapshot, Surface, Voice
        >>> from knobpack import combine
        >>> from knobpack.combination import taking
        >>> piano, pad = (Voice(name, (Destination("level"),), 1) for name in ("Piano", "Pad"))
        >>> base, harbour = (
        ...     Setup(name, Surface.row(1), (voice,), routes=(Route(f"{voice.name}/level", "K1"),))
        ...     for name, voice in (("Evening set", piano), ("Harbour set", pad))
        ... )
        >>> found = combine(base, harbour, insist="Evening set")
        >>> found.without_knob  # the base is to be played alone
        ('Pad/level',)
        >>> found.offers[-1].names
        ('Evening set',)
        >>> taking(found, found.offers[-1]).gave_way.alone  # then both share the knob
        ('Harbour set',)
    """
    check_kind("taking.found", found, Combination)
    check_kind("taking.offer", offer, Offer)
    run = begun("taking", effort, limits, time_limit, progress, cancel)
    if offer not in found.offers:
        raise InputError("taking.offer", offer, "give one of the offers of this combination")
    return _with_offers(taken(found.wanted, offer), run)


def _with_offers(wanted: Wanted, run: Run) -> Combination:
    """Do what is wanted, and look for ways to place what is left out, with what is left then."""
    found = _combined(wanted, run)
    if run.stopped:
        return found
    ways = ways_to_place(found)

    def attempt(changed: Wanted) -> Combination | None:
        if run.stopped:
            return None
        try:
            with run.share(max(QUARTER, 1 / len(ways)), told=False) as own:
                return _combined(changed, own)
        except (ImpossibleDemands, NoLayoutFound):
            return None
        except InputError:  # what was given up is not added at all where so much is left out
            return None

    return attrs.evolve(found, offers=cheapest_offers(found, ways, attempt))


def _combined(wanted: Wanted, run: Run) -> Combination:
    """Do what is wanted, as :func:`combine` says."""
    base = wanted.start
    kept = kept_base(base, wanted.free, wanted.clear)
    brought = _contributions(kept, wanted)
    made = laid_out_combination(wanted, kept, brought, run)
    allocation, found = made.allocation, made.result
    carried = (
        *stayed(kept, found.setup, allocation),
        *carried_over(brought, found.setup, allocation),
    )
    return Combination(
        base=base.name,
        request=allocation.request,
        allocation=allocation,
        setup=found.setup,
        carried=carried,
        brought=(*brought_over(brought, found.setup), *snapshots_brought(found)),
        slips=tuple(slip for one in brought for slip in one.slips),
        unlayered=tuple(each for one in brought for each in one.unlayered),
        offers=(),
        played=played_anew(base.name, brought, made.plans, found),
        gave_way=made.gave_way,
        crowded=tuple(
            (each.owners[0], each.snapshot.name)
            for each in made.plans.may_go
            if each.added is None and each.snapshot.name in made.crowded
        ),
        room=kept.room,
        overruled=found.overruled,
        left=(
            *(
                NotAsItWas(base.name, "snapshot", each.name, GIVEN_UP)
                for each in wanted.base.snapshots
                if each not in base.snapshots
            ),
            *kept.left,
            *found.left,
            *(each for one in brought for each in one.left),
            *made.plans.left,
            *made.idle,
        ),
        wanted=wanted,
    )


def _contributions(base: KeptBase, wanted: Wanted) -> list[Contribution]:
    """What each source brings, its names different from those of the base and of each other."""
    setup = base.setup
    origins = {voice.source for voice in setup.voices if voice.source is not None}
    origins |= {each.source for each in setup.arrivals}
    called = labels((each.setup.name for each in wanted.sources), {setup.name, *origins})
    taken = base.taken
    layers = _free_layers(setup)
    found = []
    for source, label in zip(wanted.sources, called, strict=True):
        one = contribution(
            source, label, taken, setup.surface.bits, wanted.unreached, layers, wanted.leave
        )
        taken |= set(one.names.values())
        layers = None if layers is None else layers - len(one.voices)
        found.append(one)
    known = [name for one in found for name in one.could]
    right = "name a voice/destination of a source, as it is called in the result"
    for position, name in enumerate(wanted.leave):
        check_named(f"combine.leave[{position}]", name, known, right)
    return found


def _free_layers(setup: Setup) -> int | None:
    """How many layers no voice of a base stands at, or needs; None: any number."""
    most = setup.surface.layers
    if most is None:
        return None
    taken = {v.layer for v in setup.voices if v.layer is not None and v.layer <= most}
    return max(0, most - len(taken) - sum(v.layer is None for v in setup.voices))
