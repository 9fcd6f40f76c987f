"""Labels: a label goes with what it names; where there is none, one is proposed.

A knob that drives what it drove keeps its label, or its lack of one: bringing voices
is no reason to name the base's knobs. A label names the most important of what its knob drove when
it was given, as far as is remembered, of the voice that it speaks of, if it does. It stays where
that stays, else goes where that goes, or is taken off. A proposal is made of the voice and of
what it drives, and made anew where that changes. On a panel without displays none is made, except
for a knob that would otherwise show what it no longer does.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import count

import attrs

from knobpack.grouped import grouped
from knobpack.heavy_imports import load
from knobpack.setups.as_read import read
from knobpack.words import Destination, KnobLabel, Setup, fields
from knobpack.words.names import voice_part

_SHORT = {
    "attack": "atk",
    "brightness": "brt",
    "cutoff": "cut",
    "decay": "dec",
    "delay": "dly",
    "drive": "drv",
    "level": "lvl",
    "release": "rel",
    "resonance": "res",
    "reverb": "rev",
    "sustain": "sus",
    "tremolo": "trem",
    "vibrato": "vib",
    "volume": "vol",
}
"""How players write what there is no room for (common practice, no source)."""

_SPACED = 7
"""From so many characters on, a space is left between what is cut from two names."""


def labels_in(setup: Setup) -> dict[str, str]:
    """The label that names each destination.

    Args:
        setup: any setup.

    Returns:
        The first label, in the order in which they are listed, that names it, under its full name.
    """
    found: dict[str, str] = {}
    for label, names in _named(setup).values():
        for name in names:
            found.setdefault(name, label)
    return found


def labelled(before: Setup, after: Setup, came: Mapping[str, str] | None = None) -> Setup:
    """A setup with the labels that its knobs are to show.

    A knob that drives what it drove shows what it showed. Elsewhere a label goes with what it
    names, if nothing there matters more: of several the one for the most important destination,
    then for the most destinations. A knob that comes to drive something else, and has no label of
    its own then, is given one made of the names of what it drives, if it would show something else,
    or drove nothing and has a display. What drove nothing and drives nothing keeps its label.

    What is new is distinct on the panel, capitals aside, and no longer than the display shows.

    Args:
        before: the setup as it was, with its labels; it may be of another surface.
        after: what it becomes; its own labels are not looked at.
        came: what the knob of each destination showed that came from elsewhere, under the full
            names of ``after``.

    Returns:
        ``after`` with labels, in panel order.
    """
    named = _named(before)
    shown = labels_in(before) | dict(came or {})
    was = {each.knob: each.label for each in before.labels}
    old, new = _driven(before), _driven(after)
    order = tuple(dict.fromkeys((*new, *was)))
    inner = read(after).destinations
    labels = _Labels(after.surface.label_length)
    made = {label for knob, label in was.items() if _proposed(label, old.get(knob, ()), before)}
    for knob, label in was.items():
        drives = new.get(knob, {})
        same = set(drives) == set(old.get(knob, ()))
        stays = label not in made and any(name in drives for name in named[knob][1])
        if same or stays:
            labels.give(knob, label)
    written = {name: label for name, label in shown.items() if label not in made}
    for knob, label in _carried(new, written, inner, labels):
        labels.take(knob, label)
    for knob, drives in new.items():
        changed = set(drives) != set(old.get(knob, ()))
        shows = after.surface.label_length is not None and not old.get(knob)
        lost = knob in was or any(name in shown for name in drives)
        if drives and changed and (shows or lost) and knob not in labels.given:
            labels.propose(knob, *_told(tuple(drives), inner))
    given = labels.given
    kept = tuple(KnobLabel(knob, given[knob]) for knob in order if knob in given)
    return attrs.evolve(after, labels=kept)


def _named(setup: Setup) -> dict[str, tuple[str, tuple[str, ...]]]:
    """The label of each knob that has one, and what it names: full names."""
    inner = read(setup).destinations
    labels, routes = setup.labels, setup.routes
    states = [(labels, routes)]
    for past in reversed(setup.edits):
        labels = labels if past.before.labels is None else past.before.labels
        routes = routes if past.before.routes is None else past.before.routes
        states.append((labels, routes))
    drove: dict[str, list[str]] = {}
    for labels, routes in reversed(states):
        on = grouped((e.knob, e.destination) for e in routes if e.destination in inner)
        there = grouped((each.label, each.knob) for each in labels)
        drove = {
            label: drove.get(label) or [name for knob in knobs for name in on.get(knob, ())]
            for label, knobs in there.items()
        }
    return {e.knob: (e.label, _spoken_of(e.label, drove[e.label], inner)) for e in setup.labels}


def _spoken_of(
    label: str, names: Iterable[str], inner: Mapping[str, Destination]
) -> tuple[str, ...]:
    """The most important of what a knob drove, of a voice that its label begins like."""
    word = label.split(maxsplit=1)[0].casefold()
    voices = {name: voice_part(name).casefold() for name in names}
    own = [name for name, v in voices.items() if v.startswith(word) or word.startswith(v)]
    among = own or list(voices)
    most = min((inner[name].priority for name in among), default=0)
    return tuple(name for name in among if inner[name].priority == most)


def _proposed(label: str, drives: Iterable[str], setup: Setup) -> bool:
    """Whether it is what would be proposed for a knob, be it with a number."""
    if not (names := tuple(drives)):
        return False
    room = setup.surface.label_length or fields.LONGEST_NAME
    text = _cut(*_told(names, read(setup).destinations), room)
    return text in (label, label.rstrip("0123456789").rstrip())


def _driven(setup: Setup) -> dict[str, dict[str, None]]:
    """What is routed to each knob, in panel order: full names, each once."""
    found: dict[str, dict[str, None]] = {knob: {} for knob in setup.surface.knob_names}
    for route in setup.routes:
        found.setdefault(route.knob, {})[route.destination] = None
    return found


def _carried(
    driven: Mapping[str, Mapping[str, None]],
    shown: Mapping[str, str],
    inner: Mapping[str, Destination],
    labels: _Labels,
) -> list[tuple[str, str]]:
    """The label that each knob without one would take along, the surest claim first."""
    claims = []
    for knob, names in driven.items():
        if knob in labels.given:
            continue
        weight: dict[str, tuple[int, int]] = {}
        for name in names:
            if name in shown:
                priority = inner[name].priority if name in inner else 5
                best, count = weight.get(shown[name], (5, 0))
                weight[shown[name]] = min(best, priority), count - 1
        first = min((inner[name].priority for name in names if name in inner), default=5)
        # A label that names nothing of what matters most on the knob would mislead.
        weight = {label: at for label, at in weight.items() if at[0] <= first}
        if weight:
            label = min(weight, key=lambda each: weight[each])
            claims.append((weight[label][1], knob, label))
    return [(knob, label) for _, knob, label in sorted(claims, key=lambda claim: claim[0])]


def _told(names: tuple[str, ...], inner: Mapping[str, Destination]) -> tuple[str, str]:
    """The voice, and what of it is driven, that stand for all that a knob drives."""
    known = sorted(names, key=lambda name: inner[name].priority if name in inner else 5)
    voices = list(dict.fromkeys(map(voice_part, known)))
    whats = list(dict.fromkeys(name.partition("/")[2] for name in known))
    kinds = {inner[name].kind if name in inner else name for name in known}
    what = whats[0]
    if len(whats) > 1:
        what = kinds.pop() if len(kinds) == 1 else f"{what}+"
    return voices[0] + ("+" if len(voices) > 1 else ""), what


class _Labels:
    """The labels of a panel as they are given out: each its own, capitals aside."""

    def __init__(self, room: int | None) -> None:
        self.given: dict[str, str] = {}
        self._room = fields.LONGEST_NAME if room is None else room
        self._taken: set[str] = set()
        self._numbers: dict[str, Iterator[int]] = {}

    def give(self, knob: str, label: str) -> None:
        """What is there stays as it is."""
        self.given[knob] = label
        self._taken.add(label.casefold())

    def take(self, knob: str, label: str) -> None:
        """A label that comes along, cut to the display; not if another knob shows it."""
        cut = label[: self._room].rstrip()
        if cut.casefold() not in self._taken:
            self.give(knob, cut)

    def propose(self, knob: str, voice: str, what: str) -> None:
        """The first made of the two names, or of them and a number, that no knob shows."""
        text = _cut(voice, what, self._room)
        label = text
        numbers = self._numbers.setdefault(text, count(2))
        while label.casefold() in self._taken:
            label = _numbered(text, next(numbers), self._room)
        self.give(knob, label)


def _numbered(text: str, number: int, room: int) -> str:
    digits = str(number) if number < 100 else _based(number)
    spaced = f"{text} {digits}"
    return spaced if len(spaced) <= room else text[: room - len(digits)].rstrip() + digits


def _based(number: int) -> str:
    """A number to the base of 36, so that three characters are enough for a panel."""
    load("numpy")
    import numpy as np

    return np.base_repr(number, 36).lower()


def _cut(voice: str, what: str, room: int) -> str:
    """Two names in so many characters; the second tells knobs of a voice apart, and gets more."""
    if not what:
        return _short(voice, room)
    for _ in range(2):
        if len(voice) + 1 + len(what) <= room:
            return f"{voice} {what}"
        bare = what.removesuffix("+")
        what = _SHORT.get(bare.casefold(), bare) + what[len(bare) :]
    space = " " if room >= _SPACED else ""
    left = room - len(space)
    second = min(len(what), max((left + 1) // 2, left - len(voice)))
    return f"{_short(voice, left - second)}{space}{_short(what, second)}"


def _short(name: str, room: int) -> str:
    """The start of a name; that it stands for more than itself is kept."""
    more = name.endswith("+") and len(name) > room > 1
    return name[: room - 1].rstrip() + "+" if more else name[:room].rstrip()
