"""The fewest knobs: what is broken, kept, reserved or cut off, case by case."""

from __future__ import annotations

import attrs
import pytest

from benchmarks.known import graph_request
from knobpack.clash import ImpossibleDemands
from knobpack.errors import InputError
from knobpack.explanation.least import COUNT, Crowd, least_knobs
from knobpack.present.demo import demo_request
from knobpack.words import (
    Apart,
    Barred,
    Destination,
    Fixed,
    Layout,
    Request,
    Route,
    Snapshot,
    Surface,
    Together,
    Voice,
)
from tests.explanation.least_asserted import assert_right, one_voice
from tests.oracles.least_knobs import (
    wrong_in,
)
from tests.test_chromatic import COLOURABLE


def test_snapshots_that_may_be_broken_count_as_firm() -> None:
    inner = (Destination("level"), Destination("pan"))
    asked = Request(
        Surface.row(1),
        (Voice("A", inner), Voice("B", inner)),
        snapshots=(Snapshot("only A", ("A",), break_weight=0),),
    )
    answer = least_knobs(asked)
    assert answer.independent == 2
    assert answer.sets == (("A/level", "A/pan"), ("B/level", "B/pan"))
    assert answer.knob_of in (("K1", None), (None, "K1"))
    assert answer.separated in (("A/level", "B/level"), ("A/pan", "B/pan"))
    assert answer.sentences[:3] == (
        "All of it takes 2 knobs if everything shares that may; 1 more than the surface has.",
        "Fewer will not do: these 2 can never share a knob: A/level and B/level.",
        (
            "With nothing shared it takes 4 knobs, one for each destination; "
            "3 more than the surface has."
        ),
    )
    bound = attrs.evolve(asked, rules=(Together(("A/pan", "B/pan")),))
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
            "All of it takes 2 knobs if everything shares that may; the surface has 3, 2 of them "
            "open, but 1 of the sets below can be on none of those left."
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
        "All of it takes 5 knobs if everything shares that may; the surface has 8.",
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
        "All of it takes 3 knobs if everything shares that may; "
        "2 more than are open on the surface."
    )


def test_nothing_to_place_takes_no_knob() -> None:
    answer = least_knobs(Request(Surface.row(2)))
    assert (answer.independent, answer.unshared, answer.sets, answer.proven) == (0, 0, (), True)
    assert str(answer) == "There is no destination, so it takes no knob."


def test_a_search_that_is_cut_off_says_what_is_not_proven() -> None:
    asked = graph_request(COLOURABLE["myciel5"][0])
    answer = least_knobs(asked, effort=0.0)
    assert (answer.proven, answer.stopped) == (False, "effort")
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
    assert_right(asked, answer)


# Falsified answers ------------------------------------------------------------------------------


def test_what_cannot_share_only_as_it_is_kept_is_told_as_that() -> None:
    kept = Layout((Route("V/a", "K1"), Route("V/b", "K2")))
    asked = attrs.evolve(one_voice(count=3, surface=Surface.row(3)), keep=kept)
    answer = least_knobs(asked)
    assert (answer.independent, answer.kept) == (2, True)
    told = "Fewer will not do: these 2 cannot, as long as what is kept stays there, share a knob"
    assert answer.sentences[1] == f"{told}: V/a and V/b."
    assert not least_knobs(attrs.evolve(asked, keep=Layout())).kept
