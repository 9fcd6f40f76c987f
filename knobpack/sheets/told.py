"""Told: what setting each sort of thing says, each as one sentence.

Only names go through ``show``: what a name is shown as, escaped for the format that the sentence
goes into. All else is plain safe text.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING, Any

from knobpack.definition.phrases import travel_text
from knobpack.text.columns import sentence
from knobpack.words import Destination, Group, KnobSending, Snapshot, Travel, Voice
from knobpack.words.names import knob_told, knobs_told, listed, quoted

if TYPE_CHECKING:
    from knobpack.sheets.steps import Step

Show = Callable[[str], str]

NOTHING = "nothing to set"
"""How a step goes on, behind what it is about, by which only what is recorded changes."""


def names_in(names: Iterable[str], show: Show) -> str:
    """Names in a row, each shown; ``nothing`` where there is none."""
    return listed([show(name) for name in names]) or "nothing"


def _at(step: Step, show: Show) -> str:
    """The knob of a step as a sentence about it begins."""
    return show(sentence(knob_told(step.where)))


def follow(knobs: tuple[str, ...], show: Show) -> str:
    """Which knobs follow the master, as part of a sentence."""
    if not knobs:
        return "no knob follows the master"
    return f"{knobs_told(knobs, show=show)} {'follows' if len(knobs) == 1 else 'follow'} the master"


def _voice(step: Step, old: Voice | None, new: Voice | None, show: Show) -> str:
    called, beside = f"Voice '{show(step.where)}'", step.beside
    if new is not None:
        if old is None:
            source = "" if new.source is None else f" from '{show(new.source)}'"
            place = "; no layer is given" if new.layer is None else f" on layer {new.layer}"
            played = f"; set {listed(new.played)}" if new.played else ""
            return f"{called}{source}: add it{place}{_beside(beside, show)}{played}."
        return f"{called}: {_changed_voice(old, new, _beside(beside, show), show)}."
    if old is not None and old.layer is not None:
        return f"{called}: take it off layer {old.layer}."
    return f"{called}: take it away; it has no layer."


def _changed_voice(old: Voice, new: Voice, beside: str, show: Show) -> str:
    other = _other_sound(old, new)
    if other:
        place = ", on no given layer" if new.layer is None else f" on layer {new.layer}"
        instead = "" if old.layer in {new.layer, None} else f", not on layer {old.layer}"
        differ = names_in(other, show)
        put = f"put the other voice of this name{place}{instead}{beside} (different in {differ})"
        return f"{put}; set {listed(new.played)}" if new.played else put
    parts = [*_replayed(old, new, beside)] or [NOTHING]
    if _recorded(old) != _recorded(new) or _forgotten(old, new):
        parts.append(
            "what is wished or recorded of it has changed, which is not set on the instrument"
        )
    return "; ".join(parts)


def _replayed(old: Voice, new: Voice, beside: str) -> Iterator[str]:
    """Where a voice stands and how it is played, where that changes; what is lost is not set."""
    if old.layer != new.layer:
        if old.layer is None:
            yield f"put it on layer {new.layer}{beside}; it had none"
        elif new.layer is None:
            yield f"take it off layer {old.layer}, and keep it"
        else:
            yield f"move it from layer {old.layer} to layer {new.layer}{beside}"
    if new.channel not in {old.channel, None}:
        yield f"set channel {new.channel}{_was(old.channel)}"
    for called, was, now in (
        ("keys", old.keys, new.keys),
        ("velocities", old.velocities, new.velocities),
    ):
        if now != was:
            before = f"all {called}" if was is None else was
            wanted = f"let it answer to all {called}" if now is None else f"set {called} {now}"
            yield f"{wanted}; it was {before}"
    up, down = new.transposition or 0, old.transposition or 0
    if up != down:
        yield f"set a transposition of {up:+d}; it was {down:+d}"
    if new.program not in {old.program, None}:
        yield f"set program {new.program}{_was(old.program)}"


def _was(number: int | None) -> str:
    return "" if number is None else f"; it was {number}"


def _beside(names: tuple[str, ...], show: Show) -> str:
    """Who is at the layer that a voice comes to."""
    if not names:
        return ""
    others = quoted(map(show, names))
    return f", where {others} {'is' if len(names) == 1 else 'are'} at this point"


def _recorded(voice: Voice) -> tuple[object, ...]:
    """What of a voice is not set on the instrument, in the order of names."""
    return (voice.source, *sorted(voice.destinations, key=lambda inner: inner.name))


def _forgotten(old: Voice, new: Voice) -> bool:
    """Whether something of how it is played was known, or is known only now, and sets nothing."""
    told = ((old.channel, new.channel), (old.program, new.program))
    gone = any(was is not None and now is None for was, now in told)
    was, now = old.transposition, new.transposition
    return gone or (was != now and (was or 0) == (now or 0))


def _other_sound(old: Voice, new: Voice) -> list[str]:
    """The destinations that two voices do not both have, wishes aside."""

    def made(inner: Destination) -> tuple[object, ...]:
        return inner.kind, inner.movable, inner.steps

    one = {inner.name: made(inner) for inner in old.destinations}
    two = {inner.name: made(inner) for inner in new.destinations}
    return [name for name in {**one, **two} if one.get(name) != two.get(name)]


def _route(step: Step, old: str | None, new: str | None, show: Show) -> str:
    over = "" if step.travel is None else f" over {travel_text(step.travel, step.top)}"
    if new is not None:
        place = f" on layer {step.layer}" if step.layer is not None else ""
        again = " once more" if step.same else ""
        return f"{_at(step, show)}: route it to {show(new)}{place}{again}{over}."
    which = "its route" if step.same < 2 else f"one of its {step.same} routes"
    return f"{_at(step, show)}: take away {which} to {show(str(old))}{over}."


def _travel(step: Step, old: Travel | None, new: Travel | None, show: Show) -> str:
    called = "the travel"
    if step.destination:
        called = f"the travel of its route to {show(step.destination)}"
    old_text = "" if old is None else travel_text(old, step.top)
    if new is None:
        return f"{_at(step, show)}: clear {called} {old_text}; without one it is full."
    becomes = travel_text(new, step.top)
    # Without one it is full; what stands there unread may be otherwise.
    how = "make sure of" if old is None and new == Travel(0, step.top) else "set"
    was = f"it was {old_text}" if old_text else "none was set"
    return f"{_at(step, show)}: {how} {called} {becomes}; {was}."


def _label(step: Step, old: str | None, new: str | None, show: Show) -> str:
    was = "no label was given" if old is None else f"it showed '{show(old)}'"
    do = "clear the label" if new is None else f"label it '{show(new)}'"
    return f"{_at(step, show)}: {do}; {was}."


def _sending(step: Step, old: KnobSending | None, new: KnobSending | None, show: Show) -> str:
    was = "what it sends was not known" if old is None else f"it was {old}"
    if new is None:
        return f"{_at(step, show)}: {NOTHING}; what it sends is no longer recorded, {was}."
    return f"{_at(step, show)}: {'let it send' if new.numbers else 'set it to'} {new}; {was}."


def _group(step: Step, old: Group | None, new: Group | None, show: Show) -> str:
    called = f"Group '{show(step.where)}'"
    if new is None:
        return f"{called}: remove it."
    if old is None:
        return f"{called}: store it with {names_in(new.members, show)}."
    return f"{called}: {_edited(old.members, new.members, show)}."


def _snapshot(step: Step, old: Snapshot | None, new: Snapshot | None, show: Show) -> str:
    called = f"Snapshot '{show(step.where)}'"
    if new is None:
        return f"{called}: remove it."
    then = f"then {follow(step.knobs, show)}"
    if old is None:
        be = "moves" if len(new.moves) < 2 else "move"
        silent = f"; silence {names_in(new.silent, show)}" if new.silent else ""
        return f"{called}: store it so that {names_in(new.moves, show)} {be}; {then}{silent}."
    parts = []
    if set(old.moves) != set(new.moves):
        parts.append(f"{_edited(old.moves, new.moves, show)} in what it moves; {then}")
        if step.undriven:
            them = "it" if len(step.undriven) == 1 else "them"
            named = names_in(step.undriven, show)
            parts.append(f"no knob drives {named}, so there is nothing to set for {them}")
    parts += _silenced(old, new, show)
    parts += _idle(old, new, step.knobs, show)
    cost = "what breaking it costs has changed, which is not set on the instrument"
    return f"{called}: {'; '.join(parts or (NOTHING, cost))}."


def _position(step: Step, old: int | None, new: int | None, show: Show) -> str:
    called, knob = f"Snapshot '{show(step.snapshot)}'", show(knob_told(step.where))
    if new is None and step.where in step.knobs:
        return f"{called}: set {knob} by ear; where it is to stand is not known, it was at {old}."
    if new is None:
        return f"{called}: {NOTHING}; where it puts {knob} is no longer recorded; it was at {old}."
    if step.added:
        as_held = f", as {show(step.held)} was in every snapshot that held it" if step.held else ""
        held = f", the lowest that {show(step.held)} was held at" if step.lowest else as_held
        return f"{called}: store {knob} at {new}{held}."
    was = "where it stood was not known" if old is None else f"it was at {old}"
    return f"{called}: store {knob} at {new}; {was}."


def _name(step: Step, _: str, new: str, show: Show) -> str:
    return f"Setup '{show(step.where)}': store it as '{show(new)}'."


def _silenced(old: Snapshot, new: Snapshot, show: Show) -> Iterator[str]:
    """The voices that a snapshot is to silence, or to let sound again."""
    come = [name for name in new.silent if name not in old.silent]
    gone = [name for name in old.silent if name not in new.silent]
    if come:
        yield f"silence {names_in(come, show)}"
    if gone:
        yield f"let {names_in(gone, show)} sound"


def _idle(old: Snapshot, new: Snapshot, knobs: tuple[str, ...], show: Show) -> Iterator[str]:
    """The knobs that followed although they drove nothing, and are to do so no more."""
    gone = [knob for knob in old.idle if knob not in new.idle]
    off = [knob for knob in gone if knob not in knobs]
    on = [knob for knob in gone if knob in knobs]
    if off:
        them = "it" if len(off) == 1 else "them"
        yield f"switch off {knobs_told(off, show=show)}: nothing is to move on {them}"
    if on:
        yield f"leave {knobs_told(on, show=show)} on"
    come = [knob for knob in new.idle if knob not in old.idle]
    if come:
        be = "follows" if len(come) == 1 else "follow"
        yield f"{NOTHING} for {knobs_told(come, show=show)}, which {be} and will drive nothing"


def _edited(old: tuple[str, ...], new: tuple[str, ...], show: Show) -> str:
    added = [name for name in new if name not in old]
    gone = [name for name in old if name not in new]
    parts = [f"add {names_in(added, show)}"] if added else []
    parts += [f"take out {names_in(gone, show)}"] if gone else []
    return " and ".join(parts)


TOLD: dict[str, Callable[[Step, Any, Any, Show], str]] = {
    "voice": _voice,
    "route": _route,
    "travel": _travel,
    "label": _label,
    "sending": _sending,
    "group": _group,
    "snapshot": _snapshot,
    "position": _position,
    "name": _name,
}
"""What each sort of step says, of what was there and what is to be there."""
