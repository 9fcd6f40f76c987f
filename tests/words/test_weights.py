"""Weights."""

from itertools import pairwise
from typing import Any

from knobpack.words import Weights


def test_one_essential_input_outweighs_any_three_that_rank_high() -> None:
    # What the text of Weights promises, for every class and the next.
    by_priority = Weights().unplaced
    assert all(more > 3 * less for more, less in pairwise(by_priority))


def test_what_is_hidden_costs_less_than_a_crowd_and_nothing_among_what_is_left_out() -> None:
    assert [Weights().omission(priority) for priority in range(1, 6)] == [256, 64, 16, 4, 0]
    assert 0 < Weights().hidden < Weights().crowd
    assert [Weights(crowd=crowd).hidden for crowd in (0, 1, 2)] == [0, 0, 1]


def test_a_travel_missed_weighs_less_with_each_priority() -> None:
    assert list(Weights().travel) == sorted(set(Weights().travel), reverse=True)


def test_a_list_is_taken_for_a_tuple() -> None:
    given: Any = [5, 4, 3, 2, 1]
    assert Weights(travel=given) == Weights()
    assert hash(Weights(travel=given)) == hash(Weights())
