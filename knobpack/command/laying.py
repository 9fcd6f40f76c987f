"""Laying out: a request, or a setup anew."""

from __future__ import annotations

import argparse

import attrs

from knobpack.command import inputs
from knobpack.command.giving import give
from knobpack.command.meter import going_on
from knobpack.command.outcome import Outcome, Part
from knobpack.words import Setup


def allocating(options: argparse.Namespace) -> int:
    """``allocate``: the best layout of a request; of a setup, as if its panel were empty."""
    from knobpack.present.text import layout_text

    (path,) = options.files
    found = inputs.word(path, options)
    if isinstance(found, Setup):
        from knobpack.combination.combine import combine

        empty = Setup(f"{found.name[:100]} anew", attrs.evolve(found.surface, reserved=()))
        with going_on("searching", options) as limits:
            made = combine(empty, found, unreached=True, **limits)
        allocation, setup = made.allocation, attrs.evolve(made.setup, name=found.name)
    else:
        allocation = inputs.laid_out(found, options)
        setup = allocation.setup(inputs.name_of(path))
    part = Part(
        "layout",
        allocation,
        lambda wide: layout_text(allocation, wide, details=options.details),
    )
    lost = allocation.essential_out
    return give(Outcome((part,), allocation, setup, essential_out=lost), options)
