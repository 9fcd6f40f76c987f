"""A wrong knob budget is caught by brute force, whatever in it is wrong."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import attrs

from knobpack.explanation.budget import knob_budget
from knobpack.explanation.budget_answer import Budget, FewerKnobs, MoreKnobs
from knobpack.explanation.budget_entry import Entry
from knobpack.words import Barred
from tests.explanation.test_budget_told import pads
from tests.oracles.budget import wrong_in


def falsified(answer: Budget) -> Iterator[tuple[str, Budget]]:
    """The answer with one thing in it wrong, in many ways."""
    first, *others = answer.families

    def family(**changes: Any) -> Budget:
        return attrs.evolve(answer, families=(attrs.evolve(first, **changes), *others))

    for name in ("now", "more", "fewer"):
        entry = getattr(first, name)
        for what, wrong in wrong_entries(entry):
            yield f"family {name} {what}", family(**{name: wrong})
        for what, wrong in wrong_entries(getattr(answer, name)):
            changes: dict[str, Any] = {name: wrong}
            yield f"whole {name} {what}", attrs.evolve(answer, **changes)
    yield "name", family(name=others[0].name)
    yield "knobs", family(knobs=(*first.knobs, "K99"))
    yield "destinations", family(destinations=first.destinations[1:])
    yield "family missing", attrs.evolve(answer, families=tuple(others))
    yield "between", attrs.evolve(answer, between_families=answer.between_families + 1)
    yield "unused", attrs.evolve(answer, unused=(*answer.unused, "K1"))
    everyone = set(range(len(answer.families)))
    assert isinstance(answer.more, MoreKnobs)
    assert isinstance(answer.fewer, FewerKnobs)
    yield (
        "takers",
        attrs.evolve(
            answer, more=attrs.evolve(answer.more, takers=tuple(everyone - {*answer.more.takers}))
        ),
    )
    yield (
        "givers",
        attrs.evolve(
            answer,
            fewer=attrs.evolve(answer.fewer, givers=tuple(everyone - {*answer.fewer.givers})),
        ),
    )
    yield "each knob in another order", attrs.evolve(answer, each_knob=answer.each_knob[::-1])
    yield "each knob but one", attrs.evolve(answer, each_knob=answer.each_knob[1:])


def wrong_entries(entry: Entry) -> Iterator[tuple[str, Entry | None]]:
    """An entry with one thing in it wrong."""
    assert entry.values is not None
    assert entry.change is not None
    for tier in range(3):
        for by in (-1, 1):
            values, bounds, change = list(entry.values), list(entry.bounds), list(entry.change)
            values[tier] += by
            change[tier] += by
            wrong = attrs.evolve(entry, values=tuple(values), bounds=tuple(values))
            yield f"values {tier} {by}", attrs.evolve(wrong, change=tuple(change))
            yield f"change {tier} {by}", attrs.evolve(entry, change=tuple(change))
            bounds[tier] += by
            yield f"bounds {tier} {by}", attrs.evolve(entry, bounds=tuple(bounds))
    yield "proven", attrs.evolve(entry, proven=not entry.proven)
    yield "impossible", None


def test_a_wrong_answer_is_caught() -> None:
    # Bars of different weights, so that it matters which knob is given up.
    bars = (Barred(("Reed/pan",), (knob,), weight) for knob, weight in (("K1", 50), ("K2", 70)))
    found = pads(3, *bars)
    answer = knob_budget(found, each_knob=True)
    assert wrong_in(found.request, found, answer) == []
    caught = 0
    for what, wrong in falsified(answer):
        assert wrong != answer, what
        assert wrong_in(found.request, found, wrong) != [], what
        caught += 1
    assert caught > 100
