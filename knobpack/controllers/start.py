"""Start: a choice of numbers that breaks no rule, found at once; the search makes it better."""

from __future__ import annotations

from knobpack.controllers.burden import BURDENS
from knobpack.controllers.table import HALF
from knobpack.controllers.wanted import PARAMETER, Choice, Wanted


def first_choice(wanted: Wanted, channel: int) -> Choice:
    """A number, or else a parameter, for as many as can have one, the higher ones first.

    Args:
        wanted: what is asked on this channel alone.
        channel: the channel.
    """
    wants, numbers = wanted.wants, wanted.open(channel)
    chosen = {place: w.deliberate for place, w in enumerate(wants) if w.deliberate is not None}
    ranked = sorted(set(range(len(wants))) - set(chosen), key=lambda n: (-wants[n].standing, n))
    sending, beyond = ranked[: len(numbers)], ranked[len(numbers) :]
    left = sorted(numbers, key=lambda number: (BURDENS[number], number))
    for place in sorted(sending):
        before = wants[place].before
        if before is not None and before.number in left:
            chosen[place] = before.number
            left.remove(before.number)
    for place in sorted(sending, key=lambda place: (not wants[place].fine, place)):
        if place in chosen:
            continue
        high = [number for number in left if number < HALF] if wants[place].fine else []
        chosen[place] = (high or left)[0]
        left.remove(chosen[place])
    on_parameters = dict.fromkeys(beyond[: len(wanted.parameters)], PARAMETER)
    return tuple((chosen | on_parameters).get(place) for place in range(len(wants)))
