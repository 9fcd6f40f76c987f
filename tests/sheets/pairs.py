"""Pairs of setups of one surface: unrelated ones, and one edited into the other."""

from __future__ import annotations

import attrs
from hypothesis import strategies as st

from knobpack.words import (
    Destination,
    Group,
    KnobPosition,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Travel,
    Voice,
)
from tests.combination.setups import setups as plain_setups
from tests.words_strategies import setups as strange_setups

HOSTILE = (
    "<script>alert(1)",
    "script><",  # with its destination: script></script><
    '"><img src=x onerror=alert(1)>',
    "' onfocus='alert(1)",
    "style>}<!--]]>",
    "&lt;b&gt; &amp; &#60; &copy",
    "*a* _b_ `c` [d](e) ![f](g) ~~h~~ | i",
    "- [ ] 1. # > + x",
    "https:..www.example.org a@example.org",
    "שלום עולם",
    "مرحبا",
    "汉字" * 60,
    "W" * 120,
    "two  spaces",
    "␀␛␍␊",
    "e\u0301\u0323",
)
"""Names that mean something elsewhere, are long or wide, or run from right to left."""


@st.composite
def pairs(draw: st.DrawFn) -> tuple[Setup, Setup]:
    """Two setups of one surface, faulty ones and quite unlike ones too."""
    if draw(st.booleans()):
        faulty = draw(st.booleans())
        one = draw(plain_setups("Evening set", faulty))
        other = draw(plain_setups(draw(st.sampled_from(["Evening set", "Night set"])), faulty))
        other = attrs.evolve(other, surface=one.surface)
    else:
        one, other = draw(strange_setups()), draw(strange_setups())
        other = attrs.evolve(other, surface=one.surface)
    if draw(st.booleans()):
        # Much is left as it is, so that what is the same is seen to need no step.
        fields = draw(
            st.sets(st.sampled_from(["voices", "groups", "routes", "travels", "snapshots"]))
        )
        kept = {field: getattr(one, field) for field in fields}
        names = {voice.name for voice in kept.get("voices", other.voices)}
        groups = kept.get("groups", other.groups)
        kept["groups"] = tuple(group for group in groups if group.name not in names)
        other = attrs.evolve(other, **kept)
    if draw(st.booleans()):
        doubled = (*other.routes, *other.routes[:2], *one.routes[:1])
        other = attrs.evolve(other, routes=doubled)
    return (one, other) if draw(st.booleans()) else (other, one)


def hostile_pair(name: str, like: Setup) -> tuple[Setup, Setup]:
    """From nothing to a setup in which all that has a name has this one."""
    knob = attrs.evolve(like.surface.knobs[0], name=name)
    surface = attrs.evolve(like.surface, knobs=(knob,), reserved=(), favoured=())
    full = f"{name}/{name}"
    after = Setup(
        name,
        surface,
        (Voice(name, (Destination(name, kind="level"),), 1, name),),
        groups=(Group(f"{name[:119]}2", (name,)),),
        routes=(Route(full, name),),
        travels=(KnobTravel(name, Travel(0, 5)),),
        snapshots=(
            Snapshot(name, (full, name)),
            Snapshot(f"{name[:119]}3", (), positions=(KnobPosition(name, 5),)),
            Snapshot(f"{name[:119]}4", ()),
        ),
    )
    return Setup("Before", surface), after
