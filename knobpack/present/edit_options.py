"""Edit options: what can be done to a setup after ``python -m knobpack --edit SETUP.json``."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import Any

from knobpack.present.asked import Asked

EDITS: tuple[tuple[str, str | int | None, tuple[str, ...], str], ...] = (
    (
        "--own",
        "+",
        ("NAME", "NAME"),
        (
            "give this a knob of its own; several names share it. A NAME is a voice/destination, "
            "a voice or a group; a knob stands for all that it drives"
        ),
    ),
    ("--on", "+", ("KNOB", "NAME"), "put this on that knob"),
    ("--swap", 2, ("KNOB", "KNOB"), "let two knobs change places"),
    ("--part", "+", ("NAME", "NAME"), "part these from each other: a knob, all that it drives"),
    ("--join", "+", ("KNOB", "KNOB"), "join what these knobs drive on one of them"),
    ("--out-of-use", None, ("KNOB",), "a knob is broken: nothing is on it from now on"),
    ("--back-in-use", None, ("KNOB",), "it is mended: what moved because of it goes back"),
    ("--away", "+", ("NAME", "NAME"), "take voices, sources or destinations away"),
    (
        "--to-panel",
        None,
        ("OTHER.json",),
        (
            "take it to the panel of that setup, or back home to its own; names and places stay "
            "where that panel has them"
        ),
    ),
)
"""Each edit: its option, how many values it takes (as argparse has it), what they are, what for."""


class _InTurn(argparse.Action):
    """Adds an edit to those before: what is asked twice is done twice."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,  # noqa: ARG002 - this is how argparse calls it
        namespace: argparse.Namespace,
        values: str | Sequence[Any] | None,
        option_string: str | None = None,
    ) -> None:
        """Take what follows the option; argparse calls it."""
        given = (values,) if isinstance(values, str) else tuple(values or ())
        asked = Asked(option_string or self.option_strings[0], given)
        setattr(namespace, self.dest, (*getattr(namespace, self.dest), asked))


def add_edit_options(made: argparse.ArgumentParser) -> None:
    """Add what can be done to a setup to a parser."""
    made.set_defaults(edits=())
    group = made.add_argument_group(
        "edits",
        "Give one or more with --edit; they are done in this order, each with as little\n"
        "moved as can be. What one asks for holds through the later ones. A voice more:\n"
        "--combine SETUP.json SOURCE.json --only VOICE.",
    )
    for option, count, values, told in EDITS:
        group.add_argument(
            option,
            action=_InTurn,
            dest="edits",
            nargs=count,
            metavar=values if len(values) > 1 else values[0],
            help=told,
            default=argparse.SUPPRESS,
        )
