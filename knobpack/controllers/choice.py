"""Choice: the best numbers on one channel, tier by tier, with bounds."""

from __future__ import annotations

import attrs

from knobpack.controllers.arrangement import Arrangement, least_downs
from knobpack.controllers.checked import costs
from knobpack.controllers.dealt import dealt
from knobpack.controllers.model import ChannelModel
from knobpack.controllers.parts import TIERS, KnobNumber, Sent
from knobpack.controllers.places import places
from knobpack.controllers.start import first_choice
from knobpack.controllers.wanted import PARAMETER, Choice, Wanted
from knobpack.solver.watch import Watch

_ORDER = TIERS.index("order")


@attrs.frozen
class Chosen:
    """What was chosen on one channel.

    Args:
        knobs: what each is sent on, in order.
        bounds: of each tier: nothing that is as good in the tiers before costs less.
    """

    knobs: tuple[KnobNumber, ...]
    bounds: tuple[int, ...]


def choose(wanted: Wanted, channel: int, watch: Watch) -> Chosen:
    """The best numbers on one channel; the best found so far, where the watch stops the search.

    Args:
        wanted: what is asked, on this channel and others.
        channel: the channel.
        watch: what may stop the search.
    """
    here = attrs.evolve(wanted, wants=wanted.on(channel))
    model = ChannelModel(here, channel)
    best = _Best(here, first_choice(here, channel))
    bounds = []
    for tier in range(_ORDER):
        bound = 0
        if best.spent[tier] > 0:  # nothing costs less than nothing
            answer = model.best(tier, watch)
            bound = max(bound, answer.bound or 0)
            if answer.value is not None:
                best.consider(dealt(model, answer.value))
        model.hold(tier, best.spent[tier])
        bounds.append(bound)
    bounds.append(_arrange(model, best, watch))
    return Chosen(knobs_of(here, best.choice), tuple(bounds))


def _arrange(model: ChannelModel, best: _Best, watch: Watch) -> int:
    """Let the numbers go down as seldom as can be; the bound that is known then."""
    used = frozenset(number for number in best.choice if number is not None and number >= 0)
    bound = 0
    if best.spent[_ORDER] > 0:
        numbers = model.matter(used, watch)
        bound = least_downs(places(best.wanted, numbers, best.spent))
        if best.spent[_ORDER] > bound:
            arrangement = Arrangement(model, numbers)
            answer = arrangement.best(watch, best.choice, bound)
            bound = max(bound, answer.bound or 0)
            if answer.found:
                best.consider(arrangement.chosen(answer))
    return bound


@attrs.define
class _Best:
    """The best choice so far, and what it costs in each tier by the plain checker."""

    wanted: Wanted
    choice: Choice
    spent: tuple[int, ...] = attrs.field(init=False)

    def __attrs_post_init__(self) -> None:
        self.spent = costs(self.wanted, knobs_of(self.wanted, self.choice))

    def consider(self, choice: Choice) -> None:
        """Take a choice, if it is better."""
        spent = costs(self.wanted, knobs_of(self.wanted, choice))
        if spent < self.spent:
            self.choice, self.spent = choice, spent


def knobs_of(wanted: Wanted, choice: Choice) -> tuple[KnobNumber, ...]:
    """What each is sent on, by a choice of numbers.

    Of the parameters, each keeps the one that it had, if it may; the others take what is left, in
    order.

    Args:
        wanted: what is asked, on one channel alone.
        choice: what is chosen for each.
    """
    parameters = _parameters(wanted, choice)
    found = []
    for place, (want, number) in enumerate(zip(wanted.wants, choice, strict=True)):
        if place in parameters:
            sent = Sent(parameter=parameters[place])
        else:
            sent = Sent() if number is None or number == PARAMETER else want.sent(number)
        found.append(wanted.answered(want, sent))
    return tuple(found)


def _parameters(wanted: Wanted, choice: Choice) -> dict[int, tuple[int, int]]:
    left = dict.fromkeys(wanted.parameters)
    places = [place for place, number in enumerate(choice) if number == PARAMETER]
    found: dict[int, tuple[int, int]] = {}
    for place in places:
        before = wanted.wants[place].before
        if before is not None and before.parameter in left:
            found[place] = before.parameter
            del left[before.parameter]
    rest = iter(left)
    return {place: found[place] if place in found else next(rest) for place in places}
