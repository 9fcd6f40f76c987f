"""Told: what each step says. Only names go through ``show``; all else is plain safe text."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from knobpack.wording import travel_text
from knobpack.words import Destination, Group, Snapshot, Travel, Voice
from knobpack.words.demand import listed

if TYPE_CHECKING:
    from knobpack.sheets.steps import Step

Show = Callable[[str], str]


def told(step: Step, show: Show = str) -> str:
    """A step as one sentence.

    Args:
        step: the step.
        show: what a name is shown as: escaped for the format that the sentence goes into.
    """
    match step.what:
        case "voice":
            return _voice(step, show)
        case "route":
            return _route(step, show)
        case "travel":
            return _travel(step, show)
        case "group":
            return _group(step, show)
        case "snapshot":
            return _snapshot(step, show)
        case _:
            return f"Setup '{show(step.where)}': store it as '{show(str(step.after))}'."


def names_in(names: Iterable[str], show: Show) -> str:
    """Names in a row, each shown; ``nothing`` where there is none."""
    return listed([show(name) for name in names]) or "nothing"


def follow(knobs: tuple[str, ...], show: Show) -> str:
    """Which knobs follow the master, as part of a sentence."""
    if not knobs:
        return "no knob follows the master"
    return f"{names_in(knobs, show)} {'follows' if len(knobs) == 1 else 'follow'} the master"


def _voice(step: Step, show: Show) -> str:
    called, old, new = f"Voice '{show(step.where)}'", step.before, step.after
    if isinstance(new, Voice):
        if not isinstance(old, Voice):
            source = "" if new.source is None else f" from '{show(new.source)}'"
            place = "; no layer is given" if new.layer is None else f" on layer {new.layer}"
            return f"{called}{source}: add it{place}{_beside(step, show)}."
        return f"{called}: {_changed_voice(step, old, new, show)}."
    if isinstance(old, Voice) and old.layer is not None:
        return f"{called}: take it off layer {old.layer}."
    return f"{called}: take it away; it has no layer."


def _changed_voice(step: Step, old: Voice, new: Voice, show: Show) -> str:
    beside = _beside(step, show)
    other = _other_sound(old, new)
    if other:
        place = ", on no given layer" if new.layer is None else f" on layer {new.layer}"
        instead = "" if old.layer in {new.layer, None} else f", not on layer {old.layer}"
        differ = names_in(other, show)
        return f"put the other voice of this name{place}{instead}{beside} (different in {differ})"
    noted = ""
    if _recorded(old) != _recorded(new):
        noted = "what is wished or recorded of it has changed, which is not set on the instrument"
    if old.layer == new.layer:
        return f"nothing to set; {noted}"
    moved = f"move it from layer {old.layer} to layer {new.layer}{beside}"
    if old.layer is None:
        moved = f"put it on layer {new.layer}{beside}; it had none"
    elif new.layer is None:
        moved = f"take it off layer {old.layer}, and keep it"
    return f"{moved}; {noted}" if noted else moved


def _beside(step: Step, show: Show) -> str:
    """Who is at the layer that a voice comes to."""
    if not step.beside:
        return ""
    others = listed([f"'{show(name)}'" for name in step.beside])
    return f", where {others} {'is' if len(step.beside) == 1 else 'are'} at this point"


def _recorded(voice: Voice) -> tuple[object, ...]:
    """All there is to a voice but its layer, in the order of names."""
    return (voice.source, *sorted(voice.destinations, key=lambda inner: inner.name))


def _other_sound(old: Voice, new: Voice) -> list[str]:
    """The destinations that two voices do not both have, wishes aside."""

    def made(inner: Destination) -> tuple[object, ...]:
        return inner.kind, inner.movable, inner.steps

    one = {inner.name: made(inner) for inner in old.destinations}
    two = {inner.name: made(inner) for inner in new.destinations}
    return [name for name in {**one, **two} if one.get(name) != two.get(name)]


def _route(step: Step, show: Show) -> str:
    if step.after is not None:
        place = f" on layer {step.layer}" if step.layer is not None else ""
        again = " once more" if step.same else ""
        return f"{show(step.where)}: route it to {show(str(step.after))}{place}{again}."
    which = "its route" if step.same < 2 else f"one of its {step.same} routes"
    return f"{show(step.where)}: take away {which} to {show(str(step.before))}."


def _travel(step: Step, show: Show) -> str:
    full = Travel(0, step.top)
    old, new = step.before, step.after
    was = travel_text(old if isinstance(old, Travel) else full, step.top)
    if not isinstance(new, Travel):
        return f"{show(step.where)}: clear the travel {was}; without one it is full."
    becomes = travel_text(new, step.top)
    if old is None and new == full:
        return f"{show(step.where)}: make sure of the travel {becomes}; none was set."
    return f"{show(step.where)}: set the travel from {was} to {becomes}."


def _group(step: Step, show: Show) -> str:
    called = f"Group '{show(step.where)}'"
    old, new = step.before, step.after
    if not isinstance(new, Group):
        return f"{called}: remove it."
    if not isinstance(old, Group):
        return f"{called}: store it with {names_in(new.members, show)}."
    return f"{called}: {_edited(old.members, new.members, show)}."


def _snapshot(step: Step, show: Show) -> str:
    called = f"Snapshot '{show(step.where)}'"
    old, new = step.before, step.after
    if not isinstance(new, Snapshot):
        return f"{called}: remove it."
    then = f"then {follow(step.knobs, show)}"
    if not isinstance(old, Snapshot):
        be = "moves" if len(new.moves) < 2 else "move"
        return f"{called}: store it so that {names_in(new.moves, show)} {be}; {then}."
    if set(old.moves) != set(new.moves):
        return f"{called}: {_edited(old.moves, new.moves, show)} in what it moves; {then}."
    return (
        f"{called}: nothing to set; what breaking it costs has changed, which is not set on the "
        "instrument."
    )


def _edited(old: tuple[str, ...], new: tuple[str, ...], show: Show) -> str:
    added = [name for name in new if name not in old]
    gone = [name for name in old if name not in new]
    parts = [f"add {names_in(added, show)}"] if added else []
    parts += [f"take out {names_in(gone, show)}"] if gone else []
    return " and ".join(parts)
