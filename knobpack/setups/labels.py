"""Labels: a label goes with its bundle; where there is none, one is proposed.

A knob that drives what it drove keeps its label, or its lack of one: bringing voices
is no reason to name the base's knobs. Where several bundles meet, the knob that has its label
keeps it; else the most important destination names it. A proposal is made of the voice and of
what it drives. On a panel without displays none is made, except for a knob that would otherwise
show what it no longer does.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import count

import attrs

from knobpack.heavy_imports import load
from knobpack.setups.as_read import read
from knobpack.words import Destination, KnobLabel, Setup, fields
from knobpack.words.names import voice_part

_SPACED = 7
"""From so many characters on, a space is left between what is cut from two names."""


def labels_in(setup: Setup) -> dict[str, str]:
    """What the knob of each destination shows.

    Args:
        setup: any setup.

    Returns:
        The label of the first knob on the panel that drives it and has one, under its full name.
    """
    found: dict[str, str] = {}
    label = {each.knob: each.label for each in setup.labels}
    driven = _driven(setup)
    for knob in driven:
        for name in driven[knob] if knob in label else ():
            found.setdefault(name, label[knob])
    return found


def labelled(before: Setup, after: Setup, came: Mapping[str, str] | None = None) -> Setup:
    """A setup with the labels that its knobs are to show.

    A knob that drives what it drove shows what it showed. Elsewhere a label goes with its bundle:
    of several the label of the most important destination, then of the most destinations. A bundle
    that was parted keeps it where most of it is. A knob that comes to drive something, and has no
    label of its own then, is given one made of the names of what it drives, if its display shows
    any or it would show something else. What drove nothing and drives nothing keeps its label.

    What is new is distinct on the panel, capitals aside, and no longer than the display shows.

    Args:
        before: the setup as it was, with its labels; it may be of another surface.
        after: what it becomes; its own labels are not looked at.
        came: what the knob of each destination showed that came from elsewhere, under the full
            names of ``after``.

    Returns:
        ``after`` with labels, in panel order.
    """
    shown = labels_in(before) | dict(came or {})
    was = {each.knob: each.label for each in before.labels}
    old, new = _driven(before), _driven(after)
    order = tuple(dict.fromkeys((*new, *was)))
    inner = read(after).destinations
    labels = _Labels(after.surface.label_length)
    for knob in order:
        label, drives = was.get(knob), new.get(knob, {})
        same = set(drives) == set(old.get(knob, ()))
        stays = any(shown.get(name) == label for name in drives)
        if label is not None and (same or (drives and stays)):
            labels.give(knob, label)
    for knob, label in _carried(new, shown, inner, labels):
        labels.take(knob, label)
    for knob, drives in new.items():
        changed = set(drives) != set(old.get(knob, ()))
        shows = after.surface.label_length is not None
        lost = knob in was or any(name in shown for name in drives)
        if drives and changed and (shows or lost) and knob not in labels.given:
            labels.propose(knob, *_told(tuple(drives), inner))
    given = labels.given
    kept = tuple(KnobLabel(knob, given[knob]) for knob in order if knob in given)
    return attrs.evolve(after, labels=kept)


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
    if len(voice) + 1 + len(what) <= room:
        return f"{voice} {what}"
    space = " " if room >= _SPACED else ""
    left = room - len(space)
    second = min(len(what), max((left + 1) // 2, left - len(voice)))
    return f"{_short(voice, left - second)}{space}{_short(what, second)}"


def _short(name: str, room: int) -> str:
    """The start of a name; that it stands for more than itself is kept."""
    more = name.endswith("+") and len(name) > room > 1
    return name[: room - 1].rstrip() + "+" if more else name[:room].rstrip()
