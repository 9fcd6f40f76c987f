"""The fewest knobs: answers that were tampered with are caught."""

from __future__ import annotations

from collections import Counter
from functools import cache
from itertools import combinations

import attrs

from knobpack.explanation.least import COUNT, SEPARATED, LeastKnobs, least_knobs
from knobpack.words import (
    Request,
)
from tests.oracles.least_knobs import (
    least_by_trying,
    sharing_of,
    wrong_in,
)
from tests.oracles.strategies import seeded_request
from tests.test_chromatic import COLOURABLE, asked_of


@cache
def answers() -> tuple[tuple[int, Request, LeastKnobs], ...]:
    """Seeded requests that are possible and have something to place, with what is told of them."""
    found = []
    for seed in range(150):
        asked = seeded_request(seed)
        if asked.destinations and least_by_trying(sharing_of(asked)) is not None:
            found.append((seed, asked, least_knobs(asked)))
    return tuple(found)


def falsified(answer: LeastKnobs) -> dict[str, LeastKnobs]:
    """Answers that each say something wrong, if this one is right."""
    sets, knob_of = answer.sets, answer.knob_of
    wrong = {
        "fewer": attrs.evolve(answer, independent=answer.independent - 1),
        "more": attrs.evolve(answer, independent=answer.independent + 1),
        "less is needed": attrs.evolve(answer, independent_bound=answer.independent_bound - 1),
        "more is needed": attrs.evolve(answer, independent_bound=answer.independent_bound + 1),
        "a knob less unshared": attrs.evolve(answer, unshared=answer.unshared - 1),
        "a knob more": attrs.evolve(answer, knobs=answer.knobs + 1),
        "an open knob less": attrs.evolve(answer, open_knobs=answer.open_knobs - 1),
        "another limit": attrs.evolve(answer, per_knob=(answer.per_knob or 0) + 1),
        "by something else": attrs.evolve(answer, by=COUNT if answer.by != COUNT else SEPARATED),
        "a name left out": attrs.evolve(answer, sets=(*sets[:-1], sets[-1][:-1])),
        "one separated twice": attrs.evolve(
            answer, separated=(answer.separated[0], *answer.separated)
        ),
        "bound though not": attrs.evolve(answer, bound=(*answer.bound, ("Voice 1/none",))),
        "no knob though there is": attrs.evolve(answer, knob_of=(None,) * len(sets)),
    }
    if len(sets) > 1:
        merged = tuple(sorted((*sets[0], *sets[1])))
        fewer = attrs.evolve(answer, sets=(merged, *sets[2:]), knob_of=knob_of[1:])
        wrong["two sets merged"] = fewer
        wrong["two sets merged, and counted"] = attrs.evolve(fewer, independent=len(sets) - 1)
        bound = min(answer.independent_bound, len(sets) - 1)
        wrong["two sets merged, and said to be proven"] = attrs.evolve(
            fewer, independent=len(sets) - 1, independent_bound=bound
        )
    if answer.by == SEPARATED:
        wrong["one not separated"] = attrs.evolve(answer, separated=answer.separated[:-1])
    if answer.bound:
        wrong["bound left out"] = attrs.evolve(answer, bound=answer.bound[1:])
    if answer.crowds:
        first = answer.crowds[0]
        less = attrs.evolve(first, destinations=first.destinations[1:])
        wrong["a name less in a crowd"] = attrs.evolve(answer, crowds=(less, *answer.crowds[1:]))
        more = attrs.evolve(first, knobs=first.knobs + 1)
        wrong["a crowd that takes more"] = attrs.evolve(answer, crowds=(more, *answer.crowds[1:]))
    taken = [knob for knob in knob_of if knob is not None]
    if len(taken) > 1:
        both = tuple(taken[0] if knob == taken[1] else knob for knob in knob_of)
        wrong["two sets on one knob"] = attrs.evolve(answer, knob_of=both)
    if not taken:
        del wrong["no knob though there is"]
    return wrong


def test_falsified_answers_are_caught() -> None:
    caught: Counter[str] = Counter()
    for seed, asked, answer in answers():
        assert wrong_in(asked, answer) == []
        for name, wrong in falsified(answer).items():
            assert wrong_in(asked, wrong) != [], (seed, name)
            caught[name] += 1
    assert len(caught) == 21, caught
    assert min(caught.values()) > 5, caught


def test_a_name_swapped_in_the_separated_is_caught() -> None:
    swapped = 0
    for seed, asked, answer in answers():
        names, sharing = list(asked.destinations), sharing_of(asked)
        for at, name in enumerate(answer.separated):
            for other in set(names) - set(answer.separated):
                some = (*answer.separated[:at], other, *answer.separated[at + 1 :])
                inside = sorted(names.index(each) for each in some)
                wrong = attrs.evolve(answer, separated=tuple(names[each] for each in inside))
                pairs = combinations(inside, 2)
                may = any(sharing.may_share(*pair) for pair in pairs)
                found = [text for text in wrong_in(asked, wrong) if text.startswith("these may")]
                assert bool(found) == may, (seed, name, other)
                swapped += may
    assert swapped > 50


def test_swapped_and_merged_ones_are_caught_in_a_graph_that_only_search_can_tell_of() -> None:
    graph, _ = COLOURABLE["Grötzsch graph"]
    asked = asked_of(graph)
    answer = least_knobs(asked)
    one, other = answer.separated
    node = {f"Graph/n{number}": node for number, node in enumerate(graph)}
    strange = next(
        name for name in node if name != one and not graph.has_edge(node[name], node[one])
    )
    names = sorted((one, strange), key=list(node).index)
    wrong = attrs.evolve(answer, separated=tuple(names))
    assert other not in names
    assert wrong_in(asked, wrong) == [f"these may share: {names[0]} and {names[1]}"]
    first, second, *rest = answer.sets
    merged = tuple(sorted((*first, *second), key=list(node).index))
    wrong = attrs.evolve(
        answer, sets=(merged, *rest), knob_of=answer.knob_of[1:], independent=3, independent_bound=3
    )
    assert any(text.startswith("these may not be on one knob") for text in wrong_in(asked, wrong))
