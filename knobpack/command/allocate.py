"""A request, or a setup anew."""

from __future__ import annotations

import argparse

import attrs

from knobpack.allocation import Allocation
from knobpack.command import inputs
from knobpack.command.meter import going_on
from knobpack.command.names import name_of
from knobpack.command.outcome import ShownAnswer, VerbOutcome
from knobpack.command.outputs import give
from knobpack.words import Setup


def allocating(options: argparse.Namespace) -> int:
    """``allocate``: a request laid out, or as it was; a setup, as if its panel were empty."""
    (path,) = options.files
    found = inputs.word(path, options)
    if isinstance(found, Setup):
        from knobpack.combination.combine import combine

        empty = Setup(f"{found.name[:100]} anew", attrs.evolve(found.surface, reserved=()))
        with going_on("searching", options) as limits:
            made = combine(empty, found, unreached=True, **limits)
        allocation, setup = made.allocation, attrs.evolve(made.setup, name=found.name)
    else:
        allocation = found if isinstance(found, Allocation) else inputs.laid_out(found, options)
        setup = allocation.setup(name_of(path))
    lost = allocation.essential_out
    outcome = VerbOutcome((laid(allocation, options),), allocation, setup, essential_out=lost)
    return give(outcome, options)


def laid(allocation: Allocation, options: argparse.Namespace) -> ShownAnswer:
    """A layout as an answer."""
    from knobpack.present.text import layout_text

    return ShownAnswer(
        "layout", allocation, lambda wide: layout_text(allocation, wide, details=options.details)
    )
