"""Held still: where knobs that stand still hold what they drive, which is told once none does."""

from __future__ import annotations

from collections.abc import Callable

from knobpack.grouped import grouped
from knobpack.setups.as_read import read
from knobpack.text.columns import sentence
from knobpack.words import Setup
from knobpack.words.names import knob_told, listed, voice_part


def held_still_told(
    before: Setup, after: Setup, show: Callable[[str], str] = str
) -> tuple[str, ...]:
    """Where knobs with a travel that starts where it ends held what no knob drives any more.

    Args:
        before: the setup as it was.
        after: what it becomes, perhaps on another panel.
        show: what a name is shown as.

    Returns:
        A sentence for each knob and position, in positions of the panel as it was.
    """
    old, new = read(before), read(after)
    stood = grouped(
        ((route.knob, over.start), route.destination)
        for route in old.routes
        if (over := old.led(route)).empty and new.knobs_of.get(route.destination) == ()
    )
    return tuple(
        f"{show(sentence(knob_told(knob)))} held {listed([*map(show, names)])} at {at} of "
        f"{before.surface.top}, and does no more: set that on "
        f"the {'voice' if len({*map(voice_part, names)}) == 1 else 'voices'}."
        for (knob, at), names in stood.items()
    )
