"""Shows laid out, in files: the show, a layout for each song, and what was proven.

As of an allocation, what follows from the rest is worked out again and must be what the file says;
bounds and proofs, of the songs by themselves too, are taken as they stand.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import attrs

from knobpack.errors import Fault, InputError, Reason
from knobpack.files.allocations import (
    allocation_within,
    check_keys,
    is_older,
    layout_within,
    stopped_by,
    tiers_of_plain,
)
from knobpack.files.shows import show_of_plain
from knobpack.files.stored import head
from knobpack.files.written import to_plain
from knobpack.show.allocator import MOST_MORE
from knobpack.show.answer import ShowAllocation
from knobpack.show.asked import AskedSong, asked_of
from knobpack.show.checked import checked_show
from knobpack.show.prices import SHOW_TIERS
from knobpack.words.fields import check_whole

KIND: Final = "show_allocation"
"""What such a file says that it holds."""

_KEYS: Final = tuple(field.name for field in attrs.fields(ShowAllocation))

_NEEDED: Final = ("show", "songs", "alone", "tiers")

_TOLD: Final = (*head(KIND), "definition", "question", "sentences")
"""What is written for who reads the file, and passed over."""


def show_allocation_of_plain(data: Mapping[str, Any], folder: Path | None) -> ShowAllocation:
    """The show laid out that a file holds.

    Args:
        data: what stands in the file; its show has the shape that the schema says.
        folder: where the files lie that the show names; None: nowhere.

    Raises:
        InputError: a value will not do, or does not agree with the others; named from
            ``ShowAllocation``.
        FileError: a file that is named cannot be read, or holds no JSON.
    """
    body = {key: each for key, each in data.items() if key not in _TOLD}
    older = is_older(data, "ShowAllocation")
    check_keys(body, "ShowAllocation", _KEYS, *_NEEDED)
    try:
        show = show_of_plain(body["show"], folder)
    except InputError as error:
        raise error if error.file is not None else error.under("ShowAllocation.show") from None
    asked, more = asked_of(show), body.get("more_joined", 0)
    check_whole("ShowAllocation.more_joined", more, 0, MOST_MORE)
    alone = [
        allocation_within(said, each.request, where, older=older)
        for each, said, where in _each("alone", body["alone"], asked)
    ]
    layouts = [layout_within(said, at) for _, said, at in _each("songs", body["songs"], asked)]
    unknown = [0] * len(SHOW_TIERS)
    may = MOST_MORE if older else more  # an earlier version let songs join more
    try:
        made = checked_show(
            show, asked, layouts, alone, bounds=unknown, more_joined=may, stopped=None
        )
    except InputError as error:
        raise InputError("ShowAllocation.songs", error.value, error.right) from None
    except Fault as error:
        raise InputError("ShowAllocation.songs", Reason("will not do"), error.found) from None
    where = "ShowAllocation."
    tiers = tiers_of_plain(body["tiers"], SHOW_TIERS, made.prices.totals, where, older=older)
    made = attrs.evolve(made, more_joined=more, stopped=stopped_by(body, where))
    if not any(each.over for each in made.joined):  # else nothing is known of what now may be
        made = attrs.evolve(made, tiers=tuple(tiers))
    written = to_plain(made)
    for key, value in body.items():
        if key not in ("show", "tiers") and not older and value != written[key]:
            right = "this does not follow from the show and the layouts of its songs; leave it out"
            raise InputError(f"ShowAllocation.{key}", value, right)
    return made


def _each(
    key: str, given: object, asked: Sequence[AskedSong]
) -> list[tuple[AskedSong, Mapping[str, Any], str]]:
    """What is said of each song, and where."""
    if not isinstance(given, list) or len(given) != len(asked):
        right = f"give a list of {len(asked)} layouts, one for each song"
        raise InputError(f"ShowAllocation.{key}", given, right)
    found = list[tuple[AskedSong, Mapping[str, Any], str]]()
    for at, (each, said) in enumerate(zip(asked, given, strict=True)):
        where = f"ShowAllocation.{key}[{at}]"
        if not isinstance(said, dict):
            raise InputError(where, said, "give an object with the routes of this song")
        found.append((each, said, where))
    return found
