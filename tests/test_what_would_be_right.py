"""What is refused is named by its field, with what would be right: slips that callers made."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from threading import Event
from typing import Any

import pytest

from knobpack import Destination, InputError, Surface, Voice, allocate, files, tables
from knobpack.limits import Limits

PIANO = Voice("Piano", [Destination("level", priority=1), Destination("tone")])
FOUND = allocate([PIANO], Surface.row(3))
LAYOUT: Any = {"K1": ["Piano/level"]}
EVENT: Any = Event()
LIMITS: Any = {"destination_per_knob": 4}
NO_ANSWERS: Any = {"why": FOUND.why("Piano/level"), "a": 1}

SLIPS: dict[str, tuple[Callable[[], Any], object, str]] = {
    "Surface.row.destination_per_knob": (
        lambda: Surface.row(8, **LIMITS),
        4,
        "close to it: destinations_per_knob",
    ),
    "photo.json": (
        lambda: files.load("photo.json"),
        "byte 1: b'\\x89' will not do",
        "write UTF-8, or give a file of JSON",
    ),
    "row 1": (lambda: tables.load("setup.json"), "{", "what is JSON is read by files.load"),
    "save.path": (lambda: files.save("x.html", FOUND), "x.html", "its explain()"),
    "save.value['a']": (lambda: files.save("x.json", NO_ANSWERS), 1, "an answer about one"),
    "allocate.previous": (
        lambda: allocate([PIANO], Surface.row(3), previous=LAYOUT),
        LAYOUT,
        "give an Allocation, a Setup, a Layout (Layout.of makes one) or a list of Routes",
    ),
    "Limits.cancel": (lambda: Limits(cancel=EVENT), EVENT, "of an Event its is_set"),
    "why_not.knob": (
        lambda: FOUND.why_not("K1", "Piano/level"),
        "Piano/level",
        "the destination comes before it",
    ),
}


@pytest.mark.parametrize("field", SLIPS)
def test_it_is_named_with_what_would_be_right(
    field: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "photo.json").write_bytes(b"\x89PNG\r\n")
    files.save("setup.json", FOUND.setup("Evening"))
    slip, value, right = SLIPS[field]
    with pytest.raises(InputError) as caught:
        slip()
    assert (caught.value.field, caught.value.value) == (field, value)
    assert right in caught.value.right
