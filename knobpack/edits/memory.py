"""Memory: what a setup remembers of its edits, and what it was before and after each."""

from __future__ import annotations

from itertools import accumulate

import attrs

from knobpack.words import PastEdit, Setup, SetupPart
from knobpack.words.setup_edits import Edit, OutOfUse

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


def before_and_after(setup: Setup, at: int) -> tuple[Setup, Setup]:
    """A setup as it was before an edit and right after, what no edit changed as it is now.

    Args:
        setup: the setup.
        at: where the edit stands among those that it remembers, counted from 0.
    """
    parts = (past.before for past in setup.edits[: at - 1 if at else None : -1])
    *_, was = accumulate(parts, with_part, initial=setup)
    after = with_part(was, setup.edits[at].after)
    return was, attrs.evolve(after, edits=setup.edits[: at + 1])


def around_a_break(setup: Setup, knob: str) -> tuple[Setup, Setup]:
    """A setup as it was before a knob broke and right after; as it is where no edit says that."""
    known = [at for at, past in enumerate(setup.edits) if past.what == OutOfUse(knob)]
    return before_and_after(setup, known[-1]) if known else (setup, setup)
