"""A setup in use edited, one edit after the other, or taken to another panel."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

import attrs

from knobpack.clash import ImpossibleDemands
from knobpack.command import inputs
from knobpack.command.look import audited
from knobpack.command.meter import going_on
from knobpack.command.outcome import ShownAnswer, VerbOutcome, text_below
from knobpack.command.outputs import give
from knobpack.command.streams import IMPOSSIBLE, Refused, tell, width
from knobpack.command.takes import Takes
from knobpack.errors import InputError, Reason
from knobpack.words import KnobTravel, Setup, Travel

if TYPE_CHECKING:
    from knobpack.edits.answer import Edited
    from knobpack.words.setup_edits import Edit


def editing(options: argparse.Namespace) -> int:
    """``edit``: edits of a setup in use, one after the other."""
    steps = [
        (" ".join((takes.name, *values)), *_step(takes, values)) for takes, values in options.steps
    ]
    setup = before = inputs.setup(options.files[0], options)
    found: dict[str, Edited] = {}
    with going_on("editing", options) as limits:
        for turn, (asked, what, step) in enumerate(steps):
            try:
                done = step(setup, **limits)
            except InputError as error:
                raise _refused(asked.partition(" ")[0], error) from None
            except ImpossibleDemands as error:
                return _impossible(setup, what, error)
            again = sum(other == asked for other, *_ in steps[:turn])
            found[f"{asked} (again, {again + 1})" if again else asked] = done
            setup = done.setup
        outcome = _outcome(before, found)
    return give(outcome, options)


def _impossible(setup: Setup, what: Edit | None, error: ImpossibleDemands) -> int:
    """Say why an edit cannot be and what can be done instead, and give the exit status.

    Raises:
        ImpossibleDemands: it is none that says where something is to be.
    """
    from knobpack.edits.impossible import Routing, cannot_be
    from knobpack.present.setup_text import cannot_be_text
    from knobpack.setups.as_read import read

    if not isinstance(what, Routing):
        raise error
    told = cannot_be_text(cannot_be(read(setup), what, error.clash), width(sys.stderr))
    tell(f"knobpack: {told}", end="")
    return IMPOSSIBLE


def _step(takes: Takes, values: tuple[str, ...]) -> tuple[Edit | None, Callable[..., Edited]]:
    """One edit of a setup, and what does it; None: it is one that takes another back."""
    from knobpack import edits

    name = takes.name
    for at, value in enumerate(values):
        if "/" in value and takes.values[min(at, len(takes.values) - 1)] == "KNOB":
            right = "name the knob first, then what goes on it"
            raise InputError(name, value, right if name == "on" else f"give {takes.wants}")
    if name == "take-back":
        words = " ".join(values)
        which = int(words) if words.isascii() and words.isdecimal() else words or None
        return None, lambda setup, **limits: edits.take_back(setup, which, **limits)
    made: Mapping[str, Callable[[], Edit]] = {
        "own": lambda: edits.OwnKnob(values),
        "on": lambda: edits.OnKnob(values[1:], values[0]),
        "swap": lambda: edits.Swap(*values),
        "part": lambda: edits.Part(values),
        "join": lambda: edits.Join(values),
        "out-of-use": lambda: edits.OutOfUse(values[0]),
        "back-in-use": lambda: edits.BackInUse(values[0]),
        "away": lambda: edits.Away(values),
        "travel": lambda: KnobTravel(values[0], Travel(*map(_position, values[1:]))),
    }
    try:
        what = made[name]()
    except InputError as error:
        raise _refused(name, error) from None
    return what, lambda setup, **limits: edits.edit(setup, what, **limits)


def _position(text: str) -> Any:
    """A position as it was typed; what is no number the word refuses."""
    return int(text) if text.isascii() and text.isdecimal() else text


def moving(options: argparse.Namespace) -> int:
    """``move``: a setup taken to another panel, or back home."""
    if options.home == (options.panel is not None):
        raise Refused("move: give the file of the panel to go to, or --home; one of the two")
    setup = inputs.setup(options.files[0], options)
    panel = inputs.surface(options.panel, options) if options.panel is not None else None
    with going_on("moving", options) as limits:
        from knobpack.edits import move_home, move_to_panel

        try:
            done = (
                move_home(setup, **limits)
                if panel is None
                else move_to_panel(setup, panel, **limits)
            )
        except InputError as error:
            raise _refused("move", error) from None
        asked = "home" if panel is None else f"to the panel of {options.panel}"
        outcome = _outcome(done.before, {asked: done}, "MOVE")
    return give(outcome, options)


def _refused(name: str, error: InputError) -> InputError:
    """What an edit refuses, as said of its word: fields within an edit are no player's words."""
    value: Any = error.value
    if value == ():
        value = Reason("nothing was edited")
    elif isinstance(value, tuple) and all(isinstance(each, str) for each in value):
        value = " ".join(value)
    if isinstance(value, Setup):
        value = Reason(f"{value.name} will not do")
    return InputError(name, value, error.right)


def _outcome(before: Setup, found: Mapping[str, Edited], head: str = "EDIT") -> VerbOutcome:
    from knobpack.present.setup_text import change_text

    first, *more = found.values()
    last = [first, *more][-1]
    setup = last.setup

    def edited(each: Edited) -> Callable[[int], str]:
        heading = f"{head}  {each.setup.name}"
        if each is not last:
            return text_below(heading, each.sentences)
        return partial(change_text, heading, last, whole=attrs.evolve(last, before=first.before))

    parts = [ShownAnswer(asked, each, edited(each)) for asked, each in found.items()]
    return VerbOutcome(
        (*parts, audited("audit of the setup as edited", setup, aside=True)),
        allocation=last.allocation,
        setup=setup,
        before=before,
        essential_out=_lost(list(found.values())),
        title="; ".join((first.title, *(each.done for each in more))),
    )


def _lost(found: Sequence[Edited]) -> tuple[str, ...]:
    """What is essential and was left out on the way, and has no knob in the end."""
    lost = dict.fromkeys(name for each in found for name in each.allocation.essential_out)
    driven = {route.destination for route in found[-1].setup.routes}
    return tuple(name for name in lost if name not in driven)
