"""Options: what can be said after ``python -m knobpack``."""

from __future__ import annotations

import argparse
import math
import sys
from typing import TYPE_CHECKING, NoReturn

from knobpack.limits import DEFAULT_EFFORT
from knobpack.present.asked import Ask
from knobpack.present.edit_options import add_edit_options
from knobpack.present.setup_options import add_setup_options
from knobpack.present.streams import EXIT_STATUSES, REFUSED, fail, output

if TYPE_CHECKING:
    from _typeshed import SupportsWrite


class _Parser(argparse.ArgumentParser):
    """Refuses wrong options in one line, and does not hide that help cannot be written."""

    def error(self, message: str) -> NoReturn:
        sys.exit(fail(REFUSED, f"{message}; --help tells more"))

    def print_help(self, file: SupportsWrite[str] | None = None) -> None:
        (output() if file is None else file).write(self.format_help())


QUESTIONS: tuple[tuple[str, tuple[str, ...], str], ...] = (
    ("--why", ("DESTINATION",), "why it is on its knob, or why it is left out"),
    ("--why-not", ("DESTINATION", "KNOB"), "why it is not on that knob, and what that would cost"),
    ("--why-shared", ("KNOB",), "why all that is on it must share it, and what that costs"),
    ("--budget", (), "what one knob more or fewer would be worth, and to whom"),
    ("--least-knobs", (), "how many knobs it takes to keep every snapshot, and to share none"),
    ("--ties", (), "whether other layouts are as good, and what all of them have in common"),
    ("--worth", (), "what each rule, snapshot, kept route and limit costs the layout"),
    ("--what-if", ("CHANGED.json",), "what another request would change"),
    (
        "--without",
        ("NAME",),
        (
            "what would change without a knob, voice, destination, snapshot or rule (a rule as its "
            "text, or its number from 1); 'rule 2' or 'knob 2' where a name alone could be either"
        ),
    ),
    ("--more-knobs", ("N",), "what would change with N knobs more"),
    ("--explain", (), "all of this about every destination and every shared knob"),
    (
        "--clashes",
        (),
        "where no layout is possible: every smallest set of demands that clash, and every way out",
    ),
)
"""Each question: its option, what it takes, and what it answers."""


def parser() -> argparse.ArgumentParser:
    """The parser of the command line."""
    made = _Parser(
        prog="python -m knobpack",
        usage="%(prog)s [REQUEST.json] [options]\n"
        "       %(prog)s --combine BASE.json SOURCE.json ... [options]",
        description="Find the best layout for a request, which knob drives what and why; or do\n"
        "the whole job: source setups in, patch sheet out.",
        epilog=EXIT_STATUSES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    made.set_defaults(asked=())
    add = made.add_argument
    add("request", nargs="?", metavar="REQUEST.json", help="a request file; without one, the demo")
    _add_search(made)
    _add_questions(made)
    add_setup_options(made)
    add_edit_options(made)
    _add_output(made)
    _add_instead(made)
    return made


def _add_search(made: argparse.ArgumentParser) -> None:
    add = made.add_argument_group("how long to search").add_argument
    add(
        "--time-limit",
        type=_seconds,
        metavar="SECONDS",
        help="stop the search for the layout after so long",
    )
    add(
        "--effort",
        type=_effort,
        default=DEFAULT_EFFORT,
        metavar="E",
        help="stop each search after so much effort, the same on every machine "
        "(default: %(default)g)",
    )


def _add_questions(made: argparse.ArgumentParser) -> None:
    group = made.add_argument_group(
        "questions",
        "Ask one or more: then the answers are shown instead of the layout.\n"
        "A DESTINATION is a voice/destination, such as 'Strings/level' of the demo.",
    )
    for option, values, told in QUESTIONS:
        count = {0: 0, 1: None}.get(len(values), len(values))
        group.add_argument(
            option,
            action=Ask,
            dest="asked",
            nargs=count,
            metavar=values if len(values) > 1 else "".join(values) or None,
            help=told,
            default=argparse.SUPPRESS,
        )
    group.add_argument(
        "--solve",
        action="store_true",
        help="answer also what takes solving again: with --why, what would place what is left out; "
        "with --why-not and --why-shared, the best layout that has it so; with --budget, what each "
        "knob is worth; with --ties, what could be on another knob; with --explain, what --worth "
        "and --ties answer too",
    )
    group.add_argument(
        "--stay-close",
        action="store_true",
        help="with --what-if, --without and --more-knobs: move as few routes as can be",
    )


def _add_output(made: argparse.ArgumentParser) -> None:
    add = made.add_argument_group("output").add_argument
    add(
        "--json",
        metavar="FILE",
        help="write the layout, or all answers, as JSON too; - for JSON instead of text",
    )
    add(
        "--graph",
        metavar="FILE",
        help="write all that is asked and laid out as a network of facts, to a .graphml or .json "
        "file; where no layout is possible, the destinations that clash, if too few knobs are why",
    )
    add("--quiet", action="store_true", help="no text and no progress: only files and errors")


def _add_instead(made: argparse.ArgumentParser) -> None:
    add = made.add_argument_group("instead of a layout").add_mutually_exclusive_group().add_argument
    add("--write-demo", metavar="FILE", help="write the request of the demo, as a start; no search")
    add(
        "--demo-setups",
        metavar="FOLDER",
        help="write a base and two sources, with faults to be found, to try --combine and the "
        "others on; no search",
    )
    add("--schema", action="store_true", help="print the JSON Schema of the files; no search")


def _seconds(text: str) -> float:
    seconds = _number(text)
    if not 0 <= seconds < math.inf:
        raise argparse.ArgumentTypeError(f"{text!r} will not do; give seconds, 0 or more")
    return seconds


def _effort(text: str) -> float:
    effort = _number(text)
    if not 0 < effort < math.inf:
        raise argparse.ArgumentTypeError(f"{text!r} will not do; give a number above 0")
    return effort


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan
