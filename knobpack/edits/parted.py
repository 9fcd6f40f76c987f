"""Parted: what one knob of a source drove, and an edit spreads over several."""

from __future__ import annotations

from collections.abc import Iterator

import attrs

from knobpack.edits.made import knob_of
from knobpack.grouped import grouped
from knobpack.setups.as_read import Reading, read
from knobpack.words import Setup
from knobpack.words.bundle import Bundle, carried_bundles
from knobpack.words.names import knob_told, listed


def source_bundles(reading: Reading) -> Iterator[Bundle]:
    """What one knob of a source drove and one knob drives now, two destinations or more.

    Args:
        reading: the setup.
    """
    at = knob_of(reading)
    for bundle in (each for own in carried_bundles(reading.setup.voices) for each in own):
        for names in grouped((at[n], n) for n in bundle.names if n in at).values():
            if len(names) > 1:
                yield attrs.evolve(bundle, names=tuple(names))


def parted_told(before: Setup, after: Setup) -> Iterator[str]:
    """The bundles that were on one knob and are on several.

    Args:
        before: the setup as it was.
        after: what it became.

    Yields:
        A sentence for each.
    """
    now = knob_of(read(after))
    for bundle in source_bundles(read(before)):
        places = grouped((now[name], name) for name in bundle.names if name in now)
        if len(places) > 1:
            where = [f"{listed(names)} on {knob_told(knob)}" for knob, names in places.items()]
            yield (
                f"Parted, though {knob_told(bundle.knob)} of {bundle.origin} drove them together: "
                f"{listed(where)}."
            )
