"""Told: what is in a file, in sentences."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from knobpack.audition.notes import Note
from knobpack.audition.senders import MASTER, Sender
from knobpack.audition.timeline import LONGEST, Path, Timing
from knobpack.phrases import CAUTION, level_like, many
from knobpack.setup_as_read import Play, Reading
from knobpack.simulation.given import Standing
from knobpack.simulation.remarks import remarks
from knobpack.simulation.sweep import MOST_LINES
from knobpack.words import Setup
from knobpack.words.knob_settings import ENDLESS
from knobpack.words.names import knob_told, knobs_told, listed


def starting(setup: Setup, knobs: Sequence[Sender], held: Standing) -> str:
    """Where the knobs stand that are sent and held, in positions; nothing where there is none."""
    sent = list(dict.fromkeys(each.who for each in knobs if each.who in held.positions))
    found = []
    for told, some in (
        ("Held", [knob for knob in sent if knob not in held.supposed]),
        ("Not known, set", [knob for knob in sent if knob in held.supposed]),
    ):
        if some:
            places = listed(
                [f"{knob_told(knob)} at {held.positions[knob]}" for knob in some], len(some)
            )
            found.append(f"{told}: {places}, of {setup.surface.top}.")
    return " ".join(found)


def sentences_of(
    reading: Reading,
    play: Play,
    paths: Sequence[Path],
    timing: Timing,
    supposed: Collection[str],
    notes: Sequence[Note],
) -> Iterator[str]:
    """What a file does, what it leaves out, and a caution where it can be loud.

    Args:
        reading: the setup as it is read.
        play: what the master does in the snapshot.
        paths: of all that is sent.
        timing: when the master stands where.
        supposed: the knobs of which it is not known where they are held.
        notes: what is held.
    """
    name, seconds = play.snapshot.name, timing.half / 500
    count, whole = len(play.follows), many(len(reading.goes), "knob")
    verb = "follows" if count == 1 else "follow"
    way = f"the master goes from bottom to top and back in {seconds:g} s"
    yield f"Snapshot {name!r}: {way}; {count} of {whole} {verb}."
    knobs = [path for path in paths if path.sender.who != MASTER]
    moving = [path for path in knobs if path.sender.who in play.follows]
    on = _on(paths)
    told = [_sent(path, on[path.sender.channel]) for path in moving]
    yield from _lines(told, "more knob", " that follow")
    yield from _whole(reading, paths, knobs, supposed, moving)
    yield from _left_out(reading, paths, timing)
    yield from _held(reading, play, notes)
    if any(path.sender.who == MASTER for path in paths):
        yield f"Recall {name!r} before you play it: the file does not."
    yield from _lines(remarks(reading, play), "more remark")
    yield from _caution(reading, play, paths, notes)


def _on(paths: Sequence[Path]) -> dict[int, str]:
    """What is added to a number to tell its channel, where there are several."""
    channels = {path.sender.channel for path in paths}
    return {each: f" on channel {each}" if len(channels) > 1 else "" for each in channels}


def _sent(path: Path, on: str) -> str:
    start, end = path.values[0], path.values[-1]
    way = f"from {start} to {end} and back" if path.moving else f"and stays at {start}"
    return f"{path.sender.who} is sent on {path.sender}{on}, {way}."


def _whole(
    reading: Reading,
    paths: Sequence[Path],
    knobs: Sequence[Path],
    supposed: Collection[str],
    moving: Sequence[Path],
) -> Iterator[str]:
    """Of the master, of what is held, and of what has no number."""
    for path in paths:
        if path.sender.who == MASTER:
            yield f"The master is sent on {path.sender}{_on(paths)[path.sender.channel]}."
    still = [path for path in knobs if path not in moving]
    for told, some in (
        ("Set at the start and then held", [p for p in still if p.sender.who not in supposed]),
        (
            "Not known where it is held, so check it by ear; set at the start",
            [p for p in still if p.sender.who in supposed],
        ),
    ):
        if some:
            on = _on(paths)
            places = [
                f"{path.sender.who} at {path.values[0]} ({path.sender}{on[path.sender.channel]})"
                for path in some
            ]
            yield f"{told}: {listed(places)}."
    numbered = {path.sender.who for path in knobs}
    sending = reading.setup.sending
    endless = [each.knob for each in sending if each.turning == ENDLESS]
    endless = [knob for knob in reading.goes if knob in endless]
    if endless:
        is_ = "it is endless and sends" if len(endless) == 1 else "they are endless and send"
        yield f"Not sent, because {is_} changes alone: {listed(endless)}."
    silent = [knob for knob in reading.goes if knob not in numbered and knob not in endless]
    if silent:
        yield f"Not sent, for want of a number: {listed(silent)}."


def _left_out(reading: Reading, paths: Sequence[Path], timing: Timing) -> Iterator[str]:
    """Where the file is coarser than the surface."""
    bits = reading.setup.surface.bits
    sent = {path.sender.who: path.sender.bits for path in paths}
    for width in (7, 14):
        coarse = [who for who in (*reading.goes, MASTER) if sent.get(who, bits) == width < bits]
        if coarse:
            names = [who or "the master" for who in coarse]
            yield f"Sent in {width} bits, where the surface has {bits}: {listed(names)}."
    if timing.points <= timing.top and any(path.moving for path in paths):
        told = (
            f"Each way the master stands at {timing.points:,} of its {timing.top + 1:,} positions"
        )
        most = f"{told}, so that a line has to carry no more than 1,000 messages a second"
        if all(_every_step(path) for path in paths):
            yield f"{most}; no value that can be sent is left out."
        else:
            yield f"{most}. A longer sweep, of {LONGEST} s at most, is finer."


def _every_step(path: Path) -> bool:
    """Whether the values go on by one at most."""
    near = zip(path.values[:-1], path.values[1:], strict=True)
    return all(abs(later - earlier) <= 1 for earlier, later in near)


def _held(reading: Reading, play: Play, notes: Sequence[Note]) -> Iterator[str]:
    """The notes, and the voices that have none because the snapshot silences them."""
    told = [
        f"{listed(each.voices)}, key {each.key} on channel {each.channel} at velocity "
        f"{each.velocity}"
        for each in notes
    ]
    yield from _lines([f"Held throughout: {each}." for each in told], "more note")
    there = [v.name for v in reading.setup.voices if v.name in play.snapshot.silent]
    if notes and there:
        yield f"Silent in {play.snapshot.name!r}, so without a note: {listed(there)}."


def _caution(
    reading: Reading, play: Play, paths: Sequence[Path], notes: Sequence[Note]
) -> Iterator[str]:
    """Where the file moves what can be loud, or sets it, or lets something sound."""
    sent = {path.sender.who for path in paths}
    moving, still = [], []
    for knob, names in reading.carries.items():
        loud = {name for name in names if level_like(reading.destinations[name].kind)}
        moves = knob in play.follows and not loud.isdisjoint(reading.drives[knob])
        if moves and (knob in sent or MASTER in sent):
            moving.append(knob)
        elif loud and knob in sent:
            still.append(knob)
    where = [f"move on {knobs_told(moving)}"] if moving else []
    where += [f"are set at the start on {knobs_told(still)}"] if still else []
    if where:
        yield f"Levels, or what can change them, {' and '.join(where)}. {CAUTION}"
    elif notes:
        yield f"The file plays notes by itself. {CAUTION}"


def _lines(each: Sequence[str], more: str, rest: str = "") -> Iterator[str]:
    """Sentences, the first of them alone where there are many, and how many more there are."""
    yield from each[:MOST_LINES]
    if len(each) > MOST_LINES:
        yield f"{many(len(each) - MOST_LINES, more)}{rest}."
