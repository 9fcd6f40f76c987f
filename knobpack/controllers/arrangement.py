"""Arrangement: which knob gets which of the numbers, so that they go down as seldom as can be.

The tier *order* counts how often the number goes down from a knob to the next. Taking the numbers
in ascending order is mostly best, and shown to be so by :func:`least_downs`, a bound that leaves
aside only that no number may come back further on. Where the two differ, CP-SAT decides.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import pairwise

from ortools.sat.python import cp_model

from knobpack.controllers.model import ChannelModel, Class, class_of, sum_of, was_left
from knobpack.controllers.places import Places
from knobpack.controllers.wanted import PARAMETER, Choice, Want
from knobpack.solver.cpsat import Answer, hint, solve
from knobpack.solver.watch import Watch


def least_downs(places: Sequence[Places]) -> int:
    """At least how often the number goes down, whatever each has of what it may have.

    Args:
        places: what each may have, in order.
    """
    # For each number that the last knob may have, the fewest steps down on the way to it.
    fewest: dict[int | None, int] = {None: 0}
    for numbers, may_lack in places:
        best = min(fewest.values())
        ascending = sorted((number, n) for number, n in fewest.items() if number is not None)
        reached: dict[int | None, int] = {}
        below, position = fewest.get(None, best + 1), 0
        for number in sorted(numbers):
            while position < len(ascending) and ascending[position][0] < number:
                below = min(below, ascending[position][1])
                position += 1
            reached[number] = min(below, best + 1)
        if may_lack:
            reached[None] = best
        fewest = reached
    return min(fewest.values())


class Arrangement:
    """The model of a channel with a variable for each knob and number that matters.

    Args:
        model: the model, all tiers but *order* being held. It is added to.
        numbers: those that are used in any choice as good as what is held.
    """

    def __init__(self, model: ChannelModel, numbers: frozenset[int]) -> None:
        self._model, self._wants = model.model, model.wants
        self._numbers = sorted(numbers)
        self._on = [self._choices(model, want) for want in model.wants]
        self._parameter = [self._model.new_bool_var("") for _ in self._wants]
        self._left = [self._model.new_bool_var("") for _ in self._wants]
        for on, parameter, left in zip(self._on, self._parameter, self._left, strict=True):
            self._model.add_exactly_one([*on.values(), parameter, left])
        self._match_numbers(model)
        self._match_classes(model)
        self._downs = self._go_down()

    def _choices(self, model: ChannelModel, want: Want) -> dict[int, cp_model.IntVar]:
        if want.deliberate is not None:
            return {want.deliberate: self._model.new_bool_var("")}
        open_to = (number for number in self._numbers if number not in model.asked)
        return {number: self._model.new_bool_var("") for number in open_to}

    def _match_numbers(self, model: ChannelModel) -> None:
        """Say of each number who is on it, as the model does."""
        for number in self._numbers:
            self._model.add(
                sum_of([on[number] for on in self._on if number in on]) == model.used[number]
            )
        for want, on in zip(self._wants, self._on, strict=True):
            before = None if want.before is None else want.before.number
            if want.who in model.keeps:
                kept = on.get(before) if before is not None else None
                self._model.add(model.keeps[want.who] == (0 if kept is None else kept))
        for fine, on_class in model.on.items():
            for number, variable in on_class.items():
                keepers = {want.who for want in model.keepers.get(number, ())}
                by = [
                    on[number]
                    for want, on in zip(self._wants, self._on, strict=True)
                    if want.fine == fine and number in on and want.who not in keepers
                ]
                self._model.add(sum_of(by) == variable)

    def _match_classes(self, model: ChannelModel) -> None:
        """Say of each class how many got what, as the model does."""
        members: defaultdict[Class, list[int]] = defaultdict(list)
        for place, want in enumerate(self._wants):
            if want.deliberate is not None:
                self._model.add(self._on[place][want.deliberate] == 1)
                continue
            members[class_of(want)].append(place)
            if want.who in model.keeps_parameter:
                self._model.add_implication(model.keeps_parameter[want.who], self._parameter[place])
        for kind, places in members.items():
            got = model.got[kind]
            self._model.add(sum_of([self._parameter[place] for place in places]) == got.parameters)
            self._model.add(sum_of([self._left[place] for place in places]) == got.left)
            if kind in model.stays_left:
                again = [self._left[place] for place in places if was_left(self._wants[place])]
                self._model.add(sum_of(again) == model.stays_left[kind])

    def _go_down(self) -> list[cp_model.IntVar]:
        """Whether the number of a knob is higher than that of the next."""
        reached = [self._reached(on) for on in self._on]
        found = []
        for first, second in pairwise(reached):
            down = self._model.new_bool_var("")
            for here, there in zip(first[1:], second[1:], strict=True):
                self._model.add(here + second[0] - there <= 1 + down)
            found.append(down)
        return found

    def _reached(self, on: dict[int, cp_model.IntVar]) -> list[cp_model.IntVar]:
        """For each number, whether a knob has it or a higher one."""
        found = []
        beyond = self._model.new_constant(0)
        for number in reversed(self._numbers):
            if number in on:
                reached = self._model.new_bool_var("")
                self._model.add(reached == beyond + on[number])
                beyond = reached
            found.append(beyond)
        return found[::-1]

    def best(self, watch: Watch, start: Choice, enough: int) -> Answer:
        """Let the numbers go down as seldom as can be, from a choice that is known."""
        told: dict[cp_model.IntVar, int] = {}
        every = zip(self._on, self._parameter, self._left, start, strict=True)
        for on, parameter, left, chosen in every:
            told |= {variable: int(number == chosen) for number, variable in on.items()}
            told |= {parameter: int(chosen == PARAMETER), left: int(chosen is None)}
        hint(self._model, list(told), list(told.values()))
        self._model.minimize(sum_of(self._downs))
        return solve(self._model, watch, enough=enough)

    def chosen(self, answer: Answer) -> Choice:
        """The choice that a solution makes; nothing for all, where there is none."""
        value = answer.value
        if value is None:
            return (None,) * len(self._wants)
        found: list[int | None] = []
        for on, parameter in zip(self._on, self._parameter, strict=True):
            number = next((number for number, variable in on.items() if value(variable)), None)
            found.append(PARAMETER if value(parameter) else number)
        return tuple(found)
