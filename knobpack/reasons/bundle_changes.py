"""Bundle changes: what became of bundles in a layout, and what parted or joined them.

Facts of the request and the layout alone; the solver has no part in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations

import attrs

from knobpack.definition.phrases import ESSENTIAL
from knobpack.grouped import grouped
from knobpack.reasons.facts import PER_KNOB, Fact, Obstacle
from knobpack.reasons.ground import Ground
from knobpack.text.columns import sentence
from knobpack.text.shown import Fielded
from knobpack.words import Request
from knobpack.words.bundle import Bundle
from knobpack.words.loudness import is_level
from knobpack.words.names import knob_told, knobs_told, listed, quoted, voice_part


@attrs.frozen
class PartedBundle(Fielded):
    """A bundle that is not whole.

    Args:
        bundle: what one knob of a source drove.
        knobs: the knobs that carry some of it, in panel order.
        left_out: those of its destinations that are on none, by full name.
        because: what parts those on different knobs; empty where only what is kept and how many
            knobs there are does.
    """

    bundle: Bundle
    knobs: tuple[str, ...]
    left_out: tuple[str, ...]
    because: tuple[Obstacle, ...]

    def __str__(self) -> str:
        told = f"The {self.bundle} is parted: "
        where = [f"it is on {knobs_told(self.knobs)}"] if len(self.knobs) > 1 else []
        if self.left_out:
            are = "is" if len(self.left_out) == 1 else "are"
            where.append(f"{listed(self.left_out)} {are} left out")
        why = f", because {listed([str(each) for each in self.because])}" if self.because else ""
        return f"{told}{' and '.join(where)}{why}."


@attrs.frozen
class JoinedBundles(Fielded):
    """A knob that carries what several knobs drove, in one source or in several.

    Args:
        knob: the knob.
        bundles: what each of those knobs drove, of what is here; single destinations as well.
        because: the ``together`` and required ``fixed`` rules that name two or more of them.
        ran_out: whether no knob is free that takes new routes.
        asked: whether one of those rules names all that is there: it is what was wanted.
        levels: the voices whose essential levels are there, if they are several.
        least: whether it is proven that no other way to share costs less.
        kept_off: the snapshots each of which keeps what is there off every other open knob.
    """

    knob: str
    bundles: tuple[Bundle, ...]
    because: tuple[str, ...]
    ran_out: bool
    asked: bool = False
    levels: tuple[str, ...] = ()
    least: bool = True
    kept_off: tuple[str, ...] = ()

    @property
    def cause(self) -> str:
        """What joined them, after a space; empty where that is not proven to be best."""
        if self.because:
            return f" because {listed(self.because)} says so"
        if self.ran_out and self.kept_off:
            name = "snapshots" if self.kept_off[1:] else "snapshot"
            keep = "keep" if self.kept_off[1:] else "keeps"
            them = "them" if self.levels else "it"
            return f" because {name} {quoted(self.kept_off)} {keep} {them} off every other knob"
        least = " because that costs the least" if self.least else ""
        return " because knobs ran out" if self.ran_out else least

    @property
    def origins(self) -> str:
        """Which knobs drove it: ``K1 and K2 of Church, K4 of Hall``."""
        knobs = grouped((each.origin, each.knob) for each in self.bundles)
        return ", ".join(f"{knobs_told(own)} of {origin}" for origin, own in knobs.items())

    def __str__(self) -> str:
        if self.levels:
            return f"{sentence(self._as_one)}{self.cause and ','}{self.cause}."
        told = f"{sentence(knob_told(self.knob))} carries what {self.origins} drove"
        return f"{told}{self.cause and ','}{self.cause}: they can no longer be moved apart."

    @property
    def short(self) -> str:
        """The same without the cause: no full stop."""
        joined = f"{knob_told(self.knob)} drives what {self.origins} drove"
        return self._as_one if self.levels else joined

    @property
    def _as_one(self) -> str:
        return f"{knob_told(self.knob)}: the levels of {listed(self.levels)} move as one"


def joined_told(joined: Iterable[JoinedBundles]) -> tuple[str, ...]:
    """A sentence for each cause: what was joined, knob by knob, but for what was asked for."""
    causes = grouped((each.cause, each.short) for each in joined if not each.asked)
    return tuple(
        f"Joined{cause}, and no longer to be moved apart: {'; '.join(where)}."
        for cause, where in causes.items()
    )


def parted_bundles(request: Request, on: Mapping[str, Sequence[str]]) -> tuple[PartedBundle, ...]:
    """The bundles that a layout does not keep whole.

    Args:
        request: what was asked.
        on: what each used knob carries, knobs in panel order.
    """
    ground = Ground(request)
    knob_of = {name: knob for knob, names in on.items() for name in names}
    found = []
    for bundle in request.bundles:
        knobs = tuple(knob for knob in on if any(knob_of.get(n) == knob for n in bundle.names))
        left_out = tuple(name for name in bundle.names if name not in knob_of)
        if len(knobs) + len(left_out) > 1 and knobs:
            because = tuple(_parting(request, ground, bundle, knob_of))
            found.append(PartedBundle(bundle, knobs, left_out, because))
    return tuple(found)


def joined_bundles(
    request: Request, on: Mapping[str, Sequence[str]], *, least: bool
) -> tuple[JoinedBundles, ...]:
    """The knobs on which what different knobs of the sources drove has been joined.

    Args:
        request: what was asked.
        on: what each used knob carries, knobs in panel order.
        least: whether it is proven that no other way to share costs less.
    """
    found = []
    closed = {*request.surface.reserved, *(knob for knob, names in on.items() if names)}
    spare = any(knob not in closed for knob in request.surface.knob_names)
    for knob, names in on.items():
        here = tuple(
            attrs.evolve(each, names=inside)
            for each in request.carried
            if (inside := tuple(name for name in each.names if name in names))
        )
        if len(here) > 1:
            binding = tuple(_binding(request, here))
            asked = any(named.issuperset(names) for _, named in binding)
            rules = tuple(rule for rule, _ in binding)
            levels = _essential_levels(request, here)
            off = tuple(_keeping_off(request, on, knob))
            found.append(JoinedBundles(knob, here, rules, not spare, asked, levels, least, off))
    return tuple(found)


def _keeping_off(request: Request, on: Mapping[str, Sequence[str]], knob: str) -> Iterator[str]:
    """The snapshots that may not be broken and move, or hold, what is on one knob alone."""
    closed = {knob, *request.surface.reserved}
    others = [names for other, names in on.items() if names and other not in closed]
    for each in request.played if others else ():
        moved = request.moved(each)
        alone = all(moved.isdisjoint(o) != moved.isdisjoint(on[knob]) for o in others)
        if alone and each.break_weight is None:
            yield each.name


def _essential_levels(request: Request, here: Iterable[Bundle]) -> tuple[str, ...]:
    """The voices whose essential levels bundles have, if they are several."""
    names = (name for each in here for name in each.names)
    inner = ((name, request.by_full_name[name]) for name in names)
    levels = (n for n, each in inner if each.priority == ESSENTIAL and is_level(each.kind))
    voices = tuple(dict.fromkeys(map(voice_part, levels)))
    return voices if voices[1:] else ()


def _parting(
    request: Request, ground: Ground, bundle: Bundle, knob_of: Mapping[str, str]
) -> Iterator[Obstacle]:
    """What parts the destinations of a bundle that are on different knobs, told once."""
    told: list[Obstacle] = []
    placed = [name for name in bundle.names if name in knob_of]
    for one, other in combinations(placed, 2):
        found = ground.parts(one, other) if knob_of[one] != knob_of[other] else None
        if found and not any(_same_cause(found, each) for each in told):
            told.append(found)
            yield found
    most = request.surface.destinations_per_knob
    if not told and most is not None and len(bundle.names) > most:
        yield Obstacle((Fact(PER_KNOB, count=most),))


def _same_cause(one: Obstacle, other: Obstacle) -> bool:
    return [(fact.kind, fact.by) for fact in one.facts] == [
        (fact.kind, fact.by) for fact in other.facts
    ]


def _binding(request: Request, bundles: Sequence[Bundle]) -> Iterator[tuple[str, set[str]]]:
    """The rules that name two or more of some bundles, and what each names."""
    for effect in request.effects:
        named = set(effect.joined if effect.weight else effect.demanded)
        if sum(not named.isdisjoint(each.names) for each in bundles) > 1:
            yield str(effect.rule), named
