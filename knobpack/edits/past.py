"""Past edits: what an edit changed of a setup, remembered in it, and the setup without that."""

from __future__ import annotations

import attrs

from knobpack.edits.back_home import merged_at_home, with_settings
from knobpack.edits.solution import Wish, solved
from knobpack.limits import Run
from knobpack.words import Home, PastEdit, Setup, SetupPart
from knobpack.words.setup_edits import Edit

_PARTS = tuple(field.name for field in attrs.fields(SetupPart))


def remembered(before: Setup, after: Setup, what: Edit | None) -> Setup:
    """The setup after an edit, which remembers it and all those before.

    Args:
        before: the setup as it was, with the edits that it remembers.
        after: the setup as it is now.
        what: the edit; None: whatever was edited on another panel, which is nothing if they are
            the same.
    """
    differing = [name for name in _PARTS if getattr(before, name) != getattr(after, name)]
    if what is None and not differing:
        return attrs.evolve(after, edits=before.edits)
    was, now = (
        SetupPart(**{name: getattr(each, name) for name in differing}) for each in (before, after)
    )
    return attrs.evolve(after, edits=(*before.edits, PastEdit(what, was, now)))


def with_part(setup: Setup, part: SetupPart) -> Setup:
    """A setup, a part of which is otherwise."""
    parts = {name: getattr(part, name) for name in _PARTS}
    return attrs.evolve(setup, **{name: part for name, part in parts.items() if part is not None})


def without_last(setup: Setup, run: Run) -> Setup:
    """A setup as it was before the last edit that it remembers.

    What was changed by hand since stays changed.

    Raises:
        NoLayoutFound: a search was stopped before any layout was known.
    """
    last, edits = setup.edits[-1], setup.edits[:-1]
    before = attrs.evolve(with_part(setup, last.before), edits=edits)
    after = with_part(setup, last.after)
    if after == setup:
        return before
    found = _brought(before, attrs.evolve(after, edits=edits), setup, run)
    return attrs.evolve(found, edits=edits)


def done_again(setup: Setup, past: PastEdit, run: Run) -> Setup:
    """A setup with what was edited on another panel before, once more.

    Raises:
        NoLayoutFound: a search was stopped before any layout was known.
    """
    was, now = (with_part(setup, part) for part in (past.before, past.after))
    return remembered(setup, _brought(setup, was, now, run), None)


def _brought(setup: Setup, was: Setup, now: Setup, run: Run) -> Setup:
    """A setup with what differs between two others brought to it."""
    bare, old, new = (attrs.evolve(each, home=None, edits=()) for each in (setup, was, now))
    way = Home(bare, old)
    there, previous = merged_at_home(way, new)
    for name in ("arrivals", "broken", "sending"):
        if getattr(old, name) != getattr(new, name):
            there = attrs.evolve(there, **{name: getattr(new, name)})
    wish = Wish("", previous=previous)
    found = solved(bare, there, wish, run, lambda made, _: with_settings(way, new, made.setup))
    return attrs.evolve(found.setup, home=setup.home, edits=setup.edits)
