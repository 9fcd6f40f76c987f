"""What the knobs of each source carried, and what is dispensable, for the textbook model."""

from __future__ import annotations

from collections.abc import Iterable

from knobpack.words import Fixed, Request, Together

Carried = list[tuple[str, ...]]
"""What each knob of a source carried, by full name, the knobs in its order."""


def drawn(request: Request) -> list[Carried]:
    """For each source, or voice without one, what its knobs carried.

    A knob lies where the first of its destinations that knows says; those of which none does come
    after all that lie somewhere.
    """
    sources: dict[str, dict[str, list[str]]] = {}
    lies: dict[tuple[str, str], int] = {}
    for voice in request.voices:
        # No name holds a slash, so no source is called as these are.
        own = f"/{voice.name}" if voice.source is None else voice.source
        for each in voice.destinations:
            if each.source_knob is not None:
                knobs = sources.setdefault(own, {})
                knobs.setdefault(each.source_knob, []).append(f"{voice.name}/{each.name}")
                if each.source_place is not None:
                    lies.setdefault((own, each.source_knob), each.source_place)
    found = []
    for own, knobs in sources.items():
        told = sorted(
            (knob for knob in knobs if (own, knob) in lies), key=lambda knob: lies[own, knob]
        )
        told += [knob for knob in knobs if (own, knob) not in lies]
        found.append([tuple(knobs[knob]) for knob in told])
    return found


def dispensable(request: Request, bundles: Iterable[tuple[str, ...]]) -> set[str]:
    """What is hidden and not demanded, and, where it is of a bundle, so is all of that."""
    demanded = {route.destination for route in request.keep.routes}
    for rule in request.rules:
        if isinstance(rule, Together | Fixed) and rule.weight is None:
            demanded |= set(request.named(rule.names))
    inner = request.by_full_name
    found = {
        name
        for name in inner
        if inner[name].priority == 5 and not inner[name].must_place and name not in demanded
    }
    for names in bundles:
        if not set(names) <= found:
            found -= set(names)
    return found
