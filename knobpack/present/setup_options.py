"""Setup options: what can be said of whole setups after ``python -m knobpack``."""

from __future__ import annotations

import argparse

from knobpack.present.asked import Ask

JOBS: tuple[tuple[str, str | int | None, tuple[str, ...], str], ...] = (
    (
        "--combine",
        "+",
        ("BASE.json", "SOURCE.json"),
        (
            "bring the voices of the sources to the base and lay everything out: where it all "
            "went, what was left and why, the layout, an audit of the result, and what jumps in "
            "it. The base's own file is passed over among the sources, so that SOURCE may be *.json"
        ),
    ),
    ("--audit", "+", ("SETUP.json", "SETUP.json"), "what each knob does; which are dead, and why"),
    (
        "--sweep",
        "+",
        ("SETUP.json", "SNAPSHOT"),
        "what the master moves in these snapshots, or in every one",
    ),
    (
        "--changes",
        None,
        ("SETUP.json",),
        "what jumps when another snapshot is recalled, the worst first",
    ),
    (
        "--difference",
        2,
        ("FROM.json", "TO.json"),
        "the patch sheet from one setup to another, which may have been there before",
    ),
    (
        "--controllers",
        None,
        ("SETUP.json",),
        "which MIDI controller number each knob had best be sent on",
    ),
    (
        "--edit",
        None,
        ("SETUP.json",),
        "change a setup that is in use, by the edits below: what moved and why, an audit of it",
    ),
)
"""Each job: its option, how many values it takes (as argparse has it), what they are, what for."""


def add_setup_options(made: argparse.ArgumentParser) -> None:
    """Add what is said of setups to a parser."""
    made.set_defaults(jobs=())
    _add_jobs(made)
    _add_ways(made)


def _add_jobs(made: argparse.ArgumentParser) -> None:
    group = made.add_argument_group(
        "setups",
        "Give one or more of these instead of a request. With --combine questions can\n"
        "be asked, about the layout of the result.",
    )
    for option, count, values, told in JOBS:
        group.add_argument(
            option,
            action=Ask,
            dest="jobs",
            nargs=count,
            metavar=values if len(values) > 1 else values[0],
            help=told,
            default=argparse.SUPPRESS,
        )


def _add_ways(made: argparse.ArgumentParser) -> None:
    add = made.add_argument_group("how to combine, and what to write").add_argument
    add(
        "--only",
        action="append",
        default=[],
        metavar="VOICE",
        help="bring this voice of the sources and no other, but for those named likewise; "
        "'SETUP: VOICE' where more than one source has it",
    )
    add(
        "--free",
        action="append",
        default=[],
        metavar="NAME",
        help="let the routes of this voice, group or destination of the base move to make room",
    )
    add(
        "--clear",
        action="append",
        default=[],
        metavar="KNOB",
        help="take this knob of the base, which does nothing: its routes go to make room",
    )
    add(
        "--take",
        type=int,
        metavar="N",
        help="take the offer of this number that --combine makes where something finds no knob",
    )
    add("--again", action="store_true", help="bring a source once more that is there already")
    add(
        "--unreached",
        action="store_true",
        help="find a knob also for what no knob of its source drove",
    )
    add("--name", metavar="NAME", help="what the result is called; without it, as the base is")
    add(
        "--sheet",
        nargs="?",
        const="-",
        metavar="FILE",
        help="with --combine or --edit: the patch sheet, from the setup as it is to the result (on "
        "another panel, from nothing); without a FILE, or with -, it is printed. With "
        "--difference: the file it goes to. A FILE ends in "
        ".html (a page to tick off at the instrument), .md or .txt",
    )
    add(
        "--midi",
        metavar="FOLDER",
        help="with --combine or --controllers: write a Standard MIDI File for each snapshot, "
        "which sweeps the master from bottom to top and back, to hear or check the setup",
    )
    add(
        "--notes",
        action="store_true",
        help="with --midi: hold a key of each voice throughout, so that something sounds",
    )
    add(
        "--channel",
        type=int,
        metavar="N",
        help="the MIDI channel of all that is sent, 1 to 16 (without it those of the knobs and "
        "voices, and 1 where they are not known)",
    )
    add(
        "--setup",
        metavar="FILE",
        help="write the result of --combine or --edit as a setup, in JSON",
    )
