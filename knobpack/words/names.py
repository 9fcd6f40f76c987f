"""Names in a row, and those that come close to one that is wrong."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence

MOST_CLOSE = 5
"""Names that are offered in place of a wrong one, at most."""

NOT_THERE = " (not there)"
"""What is said behind a name that stands for nothing."""

_MOST_LETTERS = 200
"""Letters of all names that are offered, at most."""

_AS_CLOSE = 0.1
"""By how much less alike than the closest name (0 to 1) another may be that is offered too."""

_MOST_COMPARED = 1_000_000
"""Pairs of letters that are compared, at most: of 10,000 long names, that are alike, some."""


def listed(names: Sequence[str], most: int = 12) -> str:
    """Names in a row, cut short where there are more than ``most``."""
    shown, hidden = list(names[:most]), len(names) - most
    if hidden > 0:
        shown.append(f"{hidden} more")
    return " and ".join([", ".join(shown[:-1]), shown[-1]] if len(shown) > 1 else shown)


def quoted(names: Iterable[str], most: int = 12) -> str:
    """Names of voices, groups or snapshots in a row, each in quotation marks."""
    return listed([f"'{name}'" for name in names], most)


def many(count: int, what: str) -> str:
    """A count with its word: ``1 knob``, ``2 knobs``."""
    return f"{count:,} {what}" if count == 1 else f"{count:,} {what}s"


def knob_told(name: str) -> str:
    """A knob as it is called in a sentence: ``knob 6``, where its name is but a number."""
    return f"knob {name}" if name.isdecimal() else name


def voice_part(full: str) -> str:
    """The voice of a destination that is named in full: what stands before the slash."""
    return full.partition("/")[0]


def place_told(knob: str | None) -> str:
    """Where something is: ``on K1``, or that it is left out."""
    return "left out" if knob is None else f"on {knob_told(knob)}"


def knobs_told(names: Iterable[str], most: int = 12, show: Callable[[str], str] = str) -> str:
    """Knobs in a row, as :func:`listed`: ``knobs 1, 2 and 3`` where their names are but numbers.

    ``show`` is what a name is shown as.
    """
    names = list(names)
    if len(names) > 1 and all(name.isdecimal() for name in names):
        return f"knobs {listed([*map(show, names)], most)}"
    return listed([show(knob_told(name)) for name in names], most)


def knob_cells(names: Iterable[str]) -> str:
    """Knobs in a cell of a table: ``K1, K2``, or ``knobs 1, 2``."""
    names = list(names)
    if len(names) > 1 and all(name.isdecimal() for name in names):
        return f"knobs {', '.join(names)}"
    return ", ".join(map(knob_told, names))


def close(name: str, names: Collection[str]) -> list[str]:
    """The names that come close to one that is wrong: those that hold it first.

    Where some are the same but for capital letters, those alone.
    """
    import difflib  # only where something is wrong

    folded: dict[str, list[str]] = {}
    for each in names:
        folded.setdefault(each.casefold(), []).append(each)
    wanted = name.casefold()
    if wanted in folded:
        return folded[wanted]
    found = [each for each in folded if wanted and wanted in each]
    compared, left = [], _MOST_COMPARED
    for each in folded:
        left -= len(wanted) * len(each)
        if left < 0:
            break
        compared.append(each)
    alike = difflib.get_close_matches(wanted, compared, MOST_CLOSE)
    likeness = [difflib.SequenceMatcher(None, each, wanted).ratio() for each in alike]
    found += [
        each for each, how in zip(alike, likeness, strict=True) if how > max(likeness) - _AS_CLOSE
    ]
    return [each for fold in dict.fromkeys(found) for each in folded[fold]]


def hint(names: Sequence[str]) -> str:
    """What is added to an error where some names come close to a wrong one."""
    short, letters = 0, 0
    for name in names[:MOST_CLOSE]:
        letters += len(name)
        short += letters <= _MOST_LETTERS
    return f"; close to it: {listed(names, short)}" if short else ""


def near_to(value: object, names: Collection[str]) -> str:
    """What is added to an error about a value that is none of some names."""
    return hint(close(value, names)) if isinstance(value, str) else ""
