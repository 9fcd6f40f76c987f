"""By ear: which knobs, and which levels, stand no one knows where in which snapshots."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from knobpack.setups.as_read import Reading, read
from knobpack.sheets.told import Show, names_in
from knobpack.text.columns import sentence
from knobpack.words import Setup
from knobpack.words.loudness import is_level
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

    In a snapshot in which a knob was held where no one knew, it is told again for nothing but what
    it comes to drive. What is of voices that are silent there is passed over.

    Args:
        before: the setup as it was.
        after: what it becomes.
        show: what a name is shown as.

    Yields:
        Snapshots, the knobs in them, and which of those come to be levels that sound there, as a
        sentence; empty where none is.
    """
    old, new = read(before), read(after)
    was = {
        (play.snapshot.name, knob): old.carries[knob]
        for play in old.stored_plays
        for knob in old.by_ear(play)
    }
    alike: dict[tuple[tuple[str, ...], str], list[str]] = {}
    for play in new.stored_plays:
        snapshot, silent = play.snapshot.name, play.snapshot.silent
        came = {
            knob: [
                name
                for name in new.carries[knob]
                if voice_part(name) not in silent and name not in was.get((snapshot, knob), ())
            ]
            for knob in new.by_ear(play)
        }
        knobs = tuple(knob for knob, names in came.items() if names)
        if knobs:
            alike.setdefault((knobs, _sounding(came, new, show)), []).append(snapshot)
    yield from ((names, knobs, loud) for (knobs, loud), names in alike.items())


def _sounding(came: Mapping[str, Iterable[str]], new: Reading, show: Show) -> str:
    """Which knobs are levels, of what voices, by what counts of all that each drives."""
    voices: dict[str, None] = {}
    loud = []
    for knob, names in came.items():
        levels = [each for each in names if is_level(new.destinations[each].kind)]
        voices |= dict.fromkeys(map(voice_part, levels))
        loud += [knob] if levels else []
    if not loud:
        return ""
    are = "is the level" if len(loud) == 1 else "are the levels"
    sound = "sounds" if len(voices) == 1 else "sound"
    them = "it" if len(loud) == 1 else "them"
    told = f"{knobs_told(loud, show=show)} {are} of {names_in(voices, show)}"
    return f"{sentence(told)}, which {sound} there unless you set {them}."
