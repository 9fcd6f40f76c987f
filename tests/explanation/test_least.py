"""The least knobs: every number and every witness against the words, and known chromatic numbers.

Chromatic numbers are cited in ``tests/test_chromatic.py``, beside each graph.
"""

from __future__ import annotations

import json
import pickle
import re
from collections import Counter
from functools import cache
from itertools import combinations

import attrs
import pytest
from hypothesis import HealthCheck, given, settings

from knobpack.allocator import fewest_knobs
from knobpack.checker import check
from knobpack.clash import ImpossibleDemands
from knobpack.errors import InputError
from knobpack.explanation.least import COUNT, SEARCH, SEPARATED, Crowd, LeastKnobs, least_knobs
from knobpack.present.demo import demo_request
from knobpack.words import (
    Apart,
    Barred,
    Destination,
    Fixed,
    Layout,
    Request,
    Route,
    Rule,
    Snapshot,
    Surface,
    Together,
    Voice,
)
from tests.oracles import brute
from tests.oracles.amount import EXAMPLES
from tests.oracles.least_knobs import (
    laid_out,
    least_by_trying,
    most_separated,
    sharing_of,
    wrong_in,
)
from tests.oracles.strategies import busy_request, seeded_request, small_requests
from tests.test_chromatic import COLOURABLE, asked_of


def firm(request: Request) -> Request:
    snapshots = tuple(attrs.evolve(each, break_weight=None) for each in request.played)
    return attrs.evolve(request, snapshots=snapshots)


def assert_right(asked: Request, answer: LeastKnobs) -> None:
    assert wrong_in(asked, answer) == []
    wide, layout = laid_out(asked, answer)
    assert check(wide, layout).breaches == ()
    assert brute.price(wide, layout).valid
    assert_told(asked, answer)


def assert_told(asked: Request, answer: LeastKnobs) -> None:
    """Every number in a sentence is one of the answer's own."""
    told = str(answer)
    assert told == "\n".join(answer.sentences)
    names = (*asked.destinations, *asked.surface.knob_names)
    for name in sorted(names, key=len, reverse=True):
        told = told.replace(name, "")
    own = {number for number in attrs.astuple(answer, recurse=False) if isinstance(number, int)}
    own |= {answer.missing, answer.unshared_missing, answer.added}
    own |= {len(answer.separated), len(answer.uncrowded)}
    own |= {number for each in answer.crowds for number in (each.knobs, len(each.destinations))}
    told = re.sub(r"and [\d,]+ more", "", told)
    assert {int(number.replace(",", "")) for number in re.findall(r"\d[\d,]*", told)} <= own, told


@settings(
    max_examples=max(50, EXAMPLES // 2),
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
@given(small_requests())
def test_it_is_what_trying_every_way_to_part_finds(asked: Request) -> None:
    sharing = sharing_of(asked)
    number = least_by_trying(sharing)
    if number is None:
        with pytest.raises(ImpossibleDemands):
            least_knobs(asked)
        return
    answer = least_knobs(asked)
    assert (answer.independent, answer.independent_bound, answer.proven) == (number, number, True)
    assert len(answer.separated) == most_separated(sharing)
    assert_right(asked, answer)
    told = fewest_knobs(firm(asked))
    assert (told.value, told.bound, told.proven) == (number, number, True)


def test_larger_requests_too_and_all_that_can_come_comes() -> None:
    seen: Counter[str] = Counter()
    for seed in range(60):
        asked = busy_request(seed)
        sharing = sharing_of(asked)
        number = least_by_trying(sharing) if len(asked.destinations) < 9 else None
        try:
            answer = least_knobs(asked)
        except ImpossibleDemands:
            seen["impossible"] += 1
            assert number is None
            continue
        assert answer.proven
        assert number in (None, answer.independent)
        assert_right(asked, answer)
        seen[answer.by] += 1
        seen["tried"] += number is not None
        seen["bound"] += bool(answer.bound)
        seen["added"] += bool(answer.added)
        seen["barred"] += answer.added > answer.missing
        seen["reserved"] += answer.open_knobs < answer.knobs
        seen["breakable"] += any(each.break_weight is not None for each in asked.played)
        seen["shared"] += answer.independent < answer.unshared
    wanted = ("tried", "bound", "added", "reserved", "breakable", "shared", SEPARATED, COUNT)
    assert [name for name in wanted if not seen[name]] == [], seen


def test_what_may_share_is_what_some_set_allows() -> None:
    # The oracle itself: two may share just when some set of destinations that holds both may be
    # on a knob.
    pairs = 0
    for seed in range(150):
        asked = seeded_request(seed)
        sharing = sharing_of(asked)
        everything = range(1 << len(sharing.reading.names))
        for one, other in combinations(range(len(sharing.reading.names)), 2):
            both = 1 << one | 1 << other
            some = any(mask & both == both and sharing.admits(mask) for mask in everything)
            assert sharing.may_share(one, other) == some, seed
            pairs += not some
    assert pairs > 100


# Published numbers ------------------------------------------------------------------------------


CLIQUES = {
    # Mycielski's construction makes no triangle (Mycielski 1955, from memory).
    "Grötzsch graph": 2,
    "myciel4": 2,
    "myciel5": 2,
    # No triangle either (Chvátal 1970, from memory).
    "Chvátal graph": 2,
    # So many sets of k out of n are disjoint: n // k, by the definition of K(n, k).
    "Kneser 7, 3": 2,
    "Kneser 7, 2": 3,
    # The eight squares of a row; that no nine will do was found by trying (networkx find_cliques).
    "queen8_8": 8,
}
"""The size of the largest clique, where it is known to be below the chromatic number."""


@pytest.mark.parametrize("name", COLOURABLE)
def test_chromatic_numbers_come_with_a_colouring_and_a_clique(name: str) -> None:
    graph, colours = COLOURABLE[name]
    asked = asked_of(graph)
    answer = least_knobs(asked)
    assert (answer.independent, answer.independent_bound, answer.proven) == (colours, colours, True)
    assert wrong_in(asked, answer) == []
    node = {f"Graph/n{number}": node for number, node in enumerate(graph)}
    for names in answer.sets:
        assert not any(graph.has_edge(node[a], node[b]) for a, b in combinations(names, 2))
    assert all(graph.has_edge(node[a], node[b]) for a, b in combinations(answer.separated, 2))
    assert answer.by == (SEPARATED if len(answer.separated) == colours else SEARCH)
    assert answer.unshared == len(graph)
    if name in CLIQUES:
        assert (len(answer.separated), answer.by) == (CLIQUES[name], SEARCH)
        told = f"The most known that can never share a knob are these {CLIQUES[name]}: "
        assert told in answer.sentences[1]


@pytest.mark.parametrize(("count", "per_knob"), [(7, 3), (12, 4), (10, 9)])
def test_a_limit_alone_is_counted(count: int, per_knob: int) -> None:
    asked = one_voice(count=count, surface=Surface.row(1, destinations_per_knob=per_knob))
    answer = least_knobs(asked)
    assert answer.independent == -(-count // per_knob)
    assert answer.by == COUNT
    assert answer.crowds == (Crowd(tuple(asked.destinations), answer.independent),)
    assert answer.sentences[1] == (
        f"Fewer will not do: there are {count} destinations, and a knob may carry {per_knob} at "
        "most."
    )
    assert wrong_in(asked, answer) == []


def test_one_to_a_knob_is_separated() -> None:
    answer = least_knobs(one_voice(count=4, surface=Surface.row(9, destinations_per_knob=1)))
    assert (answer.independent, answer.by, len(answer.separated)) == (4, SEPARATED, 4)


# By hand ----------------------------------------------------------------------------------------


def one_voice(*rules: Rule, count: int = 4, surface: Surface | None = None) -> Request:
    inner = tuple(Destination(name, "level") for name in "abcdefghijklmnop"[:count])
    return Request(surface or Surface.row(2), (Voice("V", inner),), snapshots=(), rules=rules)


def test_snapshots_that_may_be_broken_count_as_firm() -> None:
    inner = (Destination("level"), Destination("pan"))
    asked = Request(
        Surface.row(1),
        (Voice("A", inner), Voice("B", inner)),
        snapshots=(Snapshot("only A", ("A",), break_weight=0),),
    )
    assert fewest_knobs(asked).value == 1
    answer = least_knobs(asked)
    assert answer.independent == 2
    assert answer.sets == (("A/level", "A/pan"), ("B/level", "B/pan"))
    assert answer.knob_of in (("K1", None), (None, "K1"))
    assert answer.separated in (("A/level", "B/level"), ("A/pan", "B/pan"))
    assert answer.sentences[:3] == (
        "Full independence takes 2 knobs; 1 more than the surface has.",
        "Fewer will not do: these 2 can never share a knob: A/level and B/level.",
        (
            "With nothing shared it takes 4 knobs, one for each destination; "
            "3 more than the surface has."
        ),
    )
    bound = attrs.evolve(asked, rules=(Together(("A/pan", "B/pan")),))
    assert fewest_knobs(bound).value == 1
    with pytest.raises(ImpossibleDemands, match="snapshot 'only A'"):
        least_knobs(bound)


def test_kept_fixed_and_bound_ones_stay_where_they_are() -> None:
    asked = one_voice(
        Together(("V/a", "V/b")),
        Together(("V/b", "V/c")),
        Fixed(("V/e",), "K2"),
        Barred(("V/a",), ("K1", "K2")),
        count=7,
        surface=Surface.row(3, reserved=("K2", "K3")),
    )
    # K2 is reserved, so nothing can be fixed there that is not kept.
    with pytest.raises(ImpossibleDemands):
        least_knobs(asked)
    asked = attrs.evolve(asked, keep=Layout((Route("V/d", "K2"), Route("V/e", "K2"))))
    answer = least_knobs(asked)
    # d and e are on K2 alone, as it is reserved; a, b and c may be on neither K1 nor K3.
    assert (answer.independent, answer.proven) == (2, True)
    assert answer.sets == (("V/a", "V/b", "V/c", "V/f", "V/g"), ("V/d", "V/e"))
    assert answer.knob_of == (None, "K2")
    assert answer.bound == (("V/a", "V/b", "V/c"), ("V/d", "V/e"))
    assert answer.unshared == 4
    assert (answer.knobs, answer.open_knobs) == (3, 2)
    assert answer.sentences == (
        (
            "Full independence takes 2 knobs; the surface has 3, 2 of them open, but 1 of the sets "
            "below can be on none of those left."
        ),
        "Fewer will not do: these 2 can never share a knob: V/a and V/d.",
        (
            "With nothing shared that need not be it takes 4 knobs; 2 more than are open on the "
            "surface. These must be on one knob: V/a, V/b and V/c; V/d and V/e."
        ),
        "On 2 knobs it can be so:",
        "  K2: V/d and V/e",
        "  a new knob: V/a, V/b, V/c, V/f and V/g",
    )
    assert_right(asked, answer)


def test_crowds_and_others_are_added_up() -> None:
    # Five that may share, two to a knob; and two that may share with nothing.
    parted = Apart(("V/f",), ("V/a", "V/b", "V/c", "V/d", "V/e", "V/g"))
    alone = Apart(("V/g",), ("V/a", "V/b", "V/c", "V/d", "V/e"))
    surface = Surface.row(8, destinations_per_knob=2)
    asked = one_voice(parted, alone, count=7, surface=surface)
    answer = least_knobs(asked)
    assert (answer.independent, answer.by) == (5, COUNT)
    assert answer.crowds == (Crowd(("V/a", "V/b", "V/c", "V/d", "V/e"), 3),)
    assert answer.uncrowded == ("V/f", "V/g")
    assert answer.sentences[:4] == (
        "Full independence takes 5 knobs; the surface has 8.",
        "Fewer will not do, for a knob may carry 2 at most:",
        ("  These 5 can share with each other only, and take 3 knobs: V/a, V/b, V/c, V/d and V/e."),
        "  These 2 can share neither with them nor with each other: V/f and V/g.",
    )
    assert_right(asked, answer)


def test_reserved_knobs_are_not_counted_on() -> None:
    surface = Surface.row(3, reserved=("K1", "K3"), destinations_per_knob=1)
    answer = least_knobs(one_voice(count=3, surface=surface))
    assert (answer.knobs, answer.open_knobs, answer.missing, answer.unshared_missing) == (
        3,
        1,
        2,
        2,
    )
    assert answer.sentences[0] == (
        "Full independence takes 3 knobs; 2 more than are open on the surface."
    )


def test_nothing_to_place_takes_no_knob() -> None:
    answer = least_knobs(Request(Surface.row(2)))
    assert (answer.independent, answer.unshared, answer.sets, answer.proven) == (0, 0, (), True)
    assert str(answer) == "There is no destination, so it takes no knob."


def test_a_search_that_is_cut_off_says_what_is_not_proven() -> None:
    asked = asked_of(COLOURABLE["myciel5"][0])
    answer = least_knobs(asked, effort=0.0)
    assert not answer.proven
    assert answer.independent_bound < answer.independent
    assert answer.independent_bound <= 6 <= answer.independent
    assert wrong_in(asked, answer) == []
    assert "is not proven: at least 2 are needed." in answer.sentences[0]
    assert answer.sentences[1].startswith("Fewer than 2 will not do")
    with pytest.raises(InputError):
        least_knobs(asked, effort=-1.0)


def test_the_demo_is_told_right() -> None:
    asked = demo_request()
    answer = least_knobs(asked)
    assert answer.proven
    assert answer.independent == fewest_knobs(firm(asked)).value
    assert_right(asked, answer)


def test_it_is_plain_data_and_the_same_each_time() -> None:
    asked = demo_request()
    answer = least_knobs(asked)
    assert pickle.loads(pickle.dumps(answer)) == answer  # noqa: S301 (its own)
    assert json.loads(json.dumps(attrs.asdict(answer)))["independent"] == answer.independent
    assert least_knobs(asked) == answer


# Falsified answers ------------------------------------------------------------------------------


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
