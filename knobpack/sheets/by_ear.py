"""By ear: which knobs, and which levels, stand no one knows where in which snapshots."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from knobpack.definition.phrases import is_level
from knobpack.setups.as_read import Reading, read
from knobpack.sheets.told import Show, names_in
from knobpack.text.columns import sentence
from knobpack.words import Setup
from knobpack.words.names import knobs_told, voice_part


def unheld_levels(before: Setup, after: Setup, show: Show = str) -> tuple[str, ...]:
    """Which voices come that sound, and whose levels no knob drives, in a sentence.

    Args:
        before: the setup as it was.
        after: what it becomes.
        show: what a name is shown as.

    Returns:
        The sentence; none where there is no such voice.
    """
    new, had = read(after), {voice.name for voice in before.voices}
    silent = [set(each.silent) for each in after.snapshots]
    found = []
    for voice in after.voices:
        levels = [n for n, inner in voice.by_full_name.items() if is_level(inner.kind)]
        sounds = not silent or any(voice.name not in names for names in silent)
        if voice.name not in had and sounds and levels and not any(map(new.knobs_of.get, levels)):
            found.append(voice.name)
    if not found:
        return ()
    one = len(found) == 1
    sound, they = ("sounds", "it stands") if one else ("sound", "they stand")
    its = "its level" if one else "their levels"
    told = f"{names_in(found, show)} {sound} at whatever level {they}: no knob drives {its}."
    return (told,)


def by_ear(
    before: Setup, after: Setup, show: Show = str
) -> Iterator[tuple[list[str], tuple[str, ...], str]]:
    """In which snapshots knobs are held where no one knows, but for those that were so before.

    A knob is not told again where it drives what it drove, in a snapshot in which it was held
    where no one knew; nor where all that it drives is of voices that are silent there.

    Args:
        before: the setup as it was.
        after: what it becomes.
        show: what a name is shown as.

    Yields:
        Snapshots, the knobs in them, and which of those are levels of voices that sound there, as
        a sentence; empty where none is.
    """
    old, new = read(before), read(after)
    was = {play.snapshot.name: set(old.by_ear(play)) for play in old.stored_plays}
    alike: dict[tuple[tuple[str, ...], str], list[str]] = {}
    for play in new.stored_plays:
        name, silent = play.snapshot.name, play.snapshot.silent
        knobs = tuple(
            knob
            for knob in new.by_ear(play)
            if any(voice_part(each) not in silent for each in new.carries[knob])
            if knob not in was.get(name, ()) or set(old.carries[knob]) != set(new.carries[knob])
        )
        if knobs:
            loud = _sounding(silent, knobs, new, show)
            alike.setdefault((knobs, loud), []).append(name)
    yield from ((names, knobs, loud) for (knobs, loud), names in alike.items())


def _sounding(silent: Collection[str], knobs: Iterable[str], new: Reading, show: Show) -> str:
    """Which of some knobs are levels, of what voices that are not silent."""
    voices: dict[str, None] = {}
    loud = []
    for knob in knobs:
        levels = [each for each in new.carries[knob] if is_level(new.destinations[each].kind)]
        heard = [voice for voice in map(voice_part, levels) if voice not in silent]
        if heard:
            loud.append(knob)
            voices |= dict.fromkeys(heard)
    if not loud:
        return ""
    are = "is the level" if len(loud) == 1 else "are the levels"
    sound = "sounds" if len(voices) == 1 else "sound"
    them = "it" if len(loud) == 1 else "them"
    told = f"{knobs_told(loud, show=show)} {are} of {names_in(voices, show)}"
    return f"{sentence(told)}, which {sound} there unless you set {them}."
