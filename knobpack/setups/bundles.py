"""Bundles of a setup in use: what of it is one where it is laid out anew, or brought elsewhere.

What came is bound to what one knob of its own source drove (``Voice.source``,
``Destination.source_knob``), what is the setup's own to what one knob drives of it, or drove until
it gave way to what came. So what shares a knob because knobs ran out is joined, and no bundle. What
an edit put on one knob stays together, and what one parted is not bundled again.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from knobpack.grouped import grouped
from knobpack.setups.as_read import Reading
from knobpack.words import Destination, Setup, Voice
from knobpack.words.bundle import merged_sets
from knobpack.words.free_names import unique


def recorded_knob(voice: Voice, inner: Destination) -> str | None:
    """The knob of its own source that drove a destination; None: it did not come from one."""
    return inner.source_knob if voice.source is not None else None


def source_knobs(reading: Reading, at: Mapping[str, str]) -> dict[str, str]:
    """For each destination that is driven, what its bundle's knob is called: all of one alike.

    Args:
        reading: the setup, which is the source of all of it.
        at: the knob that drives each destination, by full names.

    Returns:
        By full names, the knob that drives the first of the bundle; where other bundles are on that
        too, that of its own source, with the name of that.
    """
    setup, inner = reading.setup, reading.destinations
    voices = {full: voice for voice in setup.voices for full in voice.by_full_name}
    came = {name: voices[name].source for name in at}
    knew = {name: recorded_knob(voices[name], inner[name]) or "" for name in at}
    bundles = merged_sets(_sets(reading, at, came, knew))
    bundles_on = Counter(at[names[0]] for names in bundles)
    found: dict[str, str] = {}
    for first, *others in bundles:
        own, taken = at[first], set(found.values())
        if bundles_on[own] > 1 and knew[first]:
            own, source = knew[first], came[first] or ""
            if source != setup.name:
                own = unique(own, {own, *setup.surface.knob_names, *taken}, source)
        found |= dict.fromkeys((first, *others), unique(own, taken))
    return found


def _sets(
    reading: Reading,
    at: Mapping[str, str],
    came: Mapping[str, str | None],
    knew: Mapping[str, str],
) -> Iterator[tuple[str, ...]]:
    """What belongs together: of one source and knob, and what edits put on one knob."""
    first, panel = _first_knobs(reading.setup, at), reading.setup.surface.knob_names
    rules = reading.setup.agreed
    effects = [rule.effect(lambda some: tuple(reading.named(some)), panel) for rule in rules]
    moved = {n for each in effects if not each.joined for side in each.sides for n in side}
    of = grouped(((came[n], knew[n], not knew[n] and first[n]), n) for n in at)
    for names in of.values():
        stays = moved.isdisjoint(names)
        yield from map(tuple, grouped((stays or at[n], n) for n in names).values())
    for each in effects:
        yield from map(tuple, grouped((at[n], n) for n in each.joined if n in at).values())


def _first_knobs(setup: Setup, at: Mapping[str, str]) -> dict[str, str]:
    """Where each was before it gave way to what came, as far as it is where that put it."""
    found = dict(at)
    for arrival in reversed(setup.arrivals):
        for each in arrival.routes:
            if each.now is not None and found.get(each.route.destination) == each.now:
                found[each.route.destination] = each.route.knob
    return found
