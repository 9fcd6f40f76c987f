"""A combination made false in one place after another: the oracle finds it out."""

from __future__ import annotations

import attrs

from knobpack.combination.answer import Combination
from knobpack.combination.combiner import combine
from knobpack.combination.report import Source
from knobpack.words import Travel
from tests.combination.cases import BASE, GUEST
from tests.oracles.combination import complaints


def _falsified(found: Combination) -> list[Combination]:
    one, *more = found.carried
    setup = found.setup
    last = setup.voices[-1]
    return [
        attrs.evolve(found, carried=tuple(more)),
        attrs.evolve(found, carried=(one, one, *more)),
        attrs.evolve(found, carried=(attrs.evolve(one, old_knob="K5"), *more)),
        attrs.evolve(found, carried=(attrs.evolve(one, wanted=Travel(0, 511)), *more)),
        attrs.evolve(found, carried=(attrs.evolve(one, new_knob="K1"), *more)),
        attrs.evolve(found, carried=(attrs.evolve(one, beside=("x/y",)), *more)),
        attrs.evolve(found, left=found.left[1:]),
        attrs.evolve(found, brought=found.brought[1:]),
        attrs.evolve(found, brought=found.brought[:-1]),
        _called(found, "pad", "pad (Harbour set)"),
        attrs.evolve(found, setup=attrs.evolve(setup, routes=setup.routes[1:])),
        attrs.evolve(found, setup=attrs.evolve(setup, travels=())),
        attrs.evolve(found, setup=attrs.evolve(setup, snapshots=setup.snapshots[1:])),
        attrs.evolve(
            found,
            setup=attrs.evolve(setup, voices=(*setup.voices[:-1], attrs.evolve(last, layer=1))),
        ),
    ]


def _called(found: Combination, old: str, new: str) -> Combination:
    """The combination with another name for a snapshot that came."""
    shots = [attrs.evolve(e, name=new) if e.name == old else e for e in found.setup.snapshots]
    brought = [attrs.evolve(e, new=new) if e.new == old else e for e in found.brought]
    setup = attrs.evolve(found.setup, snapshots=tuple(shots))
    return attrs.evolve(found, setup=setup, brought=tuple(brought))


def test_a_falsified_report_is_found_out() -> None:
    found = combine(BASE, GUEST)
    assert complaints(BASE, [Source(GUEST)], found) == []
    for wrong in _falsified(found):
        assert complaints(BASE, [Source(GUEST)], wrong)
