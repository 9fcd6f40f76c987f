"""Any list whatever: it is imported, and can be allocated, or it is refused by an InputError."""

from __future__ import annotations

import json
import unicodedata
from collections import Counter
from collections.abc import Callable
from typing import Any

from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from knobpack.errors import InputError
from knobpack.midi import Imported, import_controllers
from knobpack.words import Request, Surface, Travel
from tests.midi.lists import HALF, TOP, WAVES, brought, entry
from tests.oracles.amount import EXAMPLES

SETTINGS = settings(max_examples=EXAMPLES)

NASTY = st.one_of(
    st.text(max_size=8),
    st.text("aA/~_ \u202e\u2066\x00\n\ud800\u00e9\u0130\u00df\ufdfa", max_size=8),
    st.sampled_from(["a" * 130, "/" * 300, "../../etc", "<b>", "{0}", "%s", "\\", '"', "ŉ" * 120]),
)
UNSEEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}
NUMBERS = st.one_of(
    st.integers(-2, 300), st.sampled_from([HALF, TOP, TOP + 1, 214748364864, -HALF, 10**19, 2**64])
)
LEAVES = st.one_of(st.none(), st.booleans(), NUMBERS, NASTY)
VALUES = st.recursive(
    LEAVES, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(NASTY, inner, max_size=3)
)
HINTS = st.sampled_from(["continuous", "momentary", "toggle", "relative", "valueSelect", "?"])
SENT = st.sampled_from(["absolute", "relative", "both", "none"])
SPANS = st.lists(st.integers(0, TOP), min_size=2, max_size=2)

# What each key may well hold; any may hold something else now and then.
FINE: dict[str, st.SearchStrategy[Any]] = {
    "title": st.sampled_from(["Cutoff", "On/Off", "Level", "A b"]) | NASTY,
    "channel": st.integers(1, 4),
    "ctrlType": st.sampled_from(
        ["cc", "cc", "cc", "nrpn", "rpn", "pBend", "chPress", "pPress", "pnrc", "pnac", "pnp"]
    ),
    "ctrlIndex": st.one_of(
        st.lists(st.integers(0, 127), min_size=1, max_size=1),
        st.integers(0, 31).map(lambda high: [high, high + 32]),
        st.lists(st.integers(0, 127), min_size=2, max_size=2),
    ),
    "description": NASTY,
    "priority": st.integers(1, 5),
    "default": st.integers(0, TOP),
    "transmit": SENT,
    "recognize": SENT,
    "numSigBits": st.integers(1, 32),
    "paramPath": st.lists(st.sampled_from(["filter", "env", "a~1b", "waveType", "1", ""]))
    .map(lambda parts: "".join(f"/{part}" for part in parts))
    .filter(lambda path: len(path) < 200),
    "typeHint": HINTS,
    "ctrlMapId": st.sampled_from(["wave", "Wave", "none_1"]),
    "stepCount": st.integers(2, 200),
    "minMax": SPANS.map(sorted),
    "defaultCCMap": st.booleans(),
}
NEEDED = ("title", "channel", "ctrlType", "ctrlIndex")


@st.composite
def entries(draw: st.DrawFn, wrong: int) -> dict[str, Any]:
    """An entry; out of ``wrong`` entries one, or so, has a value or a key that is anything."""
    optional = st.lists(st.sampled_from([k for k in FINE if k not in NEEDED]), max_size=4)
    made = {key: draw(FINE[key]) for key in (*NEEDED, *draw(optional))}
    if draw(st.integers(1, wrong)) == 1:
        made[draw(st.sampled_from([*FINE, "Title", "extra"]))] = draw(VALUES)
    if draw(st.integers(1, wrong)) == 1:
        made.pop(draw(st.sampled_from([*made])))
    return made


MAPS = st.none() | st.fixed_dictionaries(
    {},
    optional={
        "wave": st.just(WAVES),
        "Wave": st.lists(st.fixed_dictionaries({"value": NUMBERS, "title": NASTY}), max_size=4),
        "none_1": VALUES,
    },
)


def sound(found: Imported) -> None:
    """What is brought is whole and consistent, and makes a request."""
    Request(Surface.row(4, bits=found.bits), found.voices, groups=found.groups)
    driven = {each.destination for each in found.controllers} - {None}
    full = [v.full_name(d) for v in found.voices for d in v.destinations]
    assert driven == set(full)
    assert len(full) == len(set(full)) == sum(1 for e in found.controllers if e.destination)
    assert [each.voice for each in found.listening] == [voice.name for voice in found.voices]
    channel = {each.voice: each.channel for each in found.listening}
    heard = {each.channel: set(each.numbers) for each in found.listening}
    for each in found.controllers:
        if each.ctrl_type == "cc" and each.recognize != "none":
            assert heard[each.channel].issuperset(each.ctrl_index)
        if each.destination is not None:
            assert each.recognize != "none"
            assert channel[each.destination.split("/")[0]] == each.channel
    told = "".join((*found.sentences, *map(str, found.controllers)))
    assert {unicodedata.category(mark) for mark in told}.isdisjoint(UNSEEN)


def tried(call: Callable[[], Imported]) -> Imported | None:
    """What a call brings, checked; None where it is refused, in words that can be printed."""
    try:
        found = call()
    except InputError as error:
        str(error).encode()
        return None
    sound(found)
    return found


@settings(SETTINGS, max_examples=max(100, EXAMPLES // 2))
@given(st.one_of(VALUES, st.lists(VALUES, max_size=3), st.lists(entries(3), max_size=3)), MAPS)
def test_any_value_is_imported_or_refused(listed: Any, maps: Any) -> None:
    plain = tried(lambda: import_controllers(listed, "Lead", maps=maps))
    text = json.dumps(listed)
    if isinstance(listed, list):
        # Text is refused where plain values are, and for a little more: it is read whole.
        read = tried(lambda: import_controllers(text, "Lead", maps=maps))
        assert read is None or read == plain
    tried(lambda: import_controllers(text, "Lead", 3, maps=maps, bits=2))


SINGLES = [n for n in range(128) if n not in {*range(96, 102), *range(120, 128), 0, 6, 32, 38}]
INDICES = st.one_of(
    st.sampled_from(SINGLES).map(lambda number: ("cc", (number,))),
    st.sampled_from([n for n in SINGLES if n < 32]).map(lambda n: ("cc", (n, n + 32))),
    st.tuples(st.sampled_from(["nrpn", "rpn"]), st.tuples(st.integers(0, 126), st.integers(0, 40))),
    st.tuples(st.sampled_from(["pBend", "chPress", "pPress", "pnp"]), st.just(())),
)
CHOICES: list[dict[str, Any]] = [
    {},
    {"stepCount": 5},
    {"typeHint": "toggle"},
    {"typeHint": "valueSelect", "ctrlMapId": "wave"},
    {"minMax": [1 << 25, HALF]},
    {"minMax": [HALF, TOP]},
]
PATHS = st.sampled_from(["/env/attack", "/env/decay", "/filter/env/x", "/filter/cutoff", "", "/a"])
FREE = {k: FINE[k] for k in ("priority", "default", "transmit", "recognize", "numSigBits")}


@st.composite
def fine_lists(draw: st.DrawFn) -> list[dict[str, Any]]:
    """Lists with nothing wrong in them, by the table of the standard."""
    listed: list[dict[str, Any]] = []
    taken: set[tuple[object, ...]] = set()
    for kind, index in draw(st.lists(INDICES, min_size=3, max_size=7)):
        channel = draw(st.sampled_from([1, 1, 1, 2]))
        parts = {(channel, kind, n) for n in index} if kind == "cc" else {(channel, kind, index)}
        if taken.isdisjoint(parts):
            taken |= parts
            free = draw(st.fixed_dictionaries({"paramPath": PATHS}, optional=FREE))
            made = entry(channel=channel, ctrlType=kind, **draw(st.sampled_from(CHOICES)), **free)
            listed.append({**made, "ctrlIndex": list(index)})
            if not index:
                del listed[-1]["ctrlIndex"]
    return listed


def test_a_list_with_nothing_wrong_is_imported_as_it_says() -> None:
    seen: Counter[str] = Counter()

    many = max(100, EXAMPLES // 2)

    @settings(SETTINGS, max_examples=many, phases=[Phase.generate])
    @given(fine_lists(), st.integers(7, 32))
    def draw(listed: list[dict[str, Any]], bits: int) -> None:
        found = brought(*listed, bits=bits, maps={"wave": WAVES})
        sound(found)
        known = {v.full_name(d): d for v in found.voices for d in v.destinations}
        for given_entry, brought_one in zip(listed, found.controllers, strict=True):
            asked = {"recognize": "absolute", "priority": 3, **given_entry}
            assert brought_one.channel == asked["channel"]
            assert brought_one.ctrl_index == tuple(asked.get("ctrlIndex", ()))
            assert brought_one.default == asked.get("default")
            assert brought_one.significant_bits == asked.get("numSigBits", 32)
            assert brought_one.transmit == asked.get("transmit", "absolute")
            assert brought_one.recognize == asked["recognize"]
            assert (brought_one.destination is None) == (asked["recognize"] == "none")
            if brought_one.destination is None:
                continue
            made = known[brought_one.destination]
            assert made.priority == asked["priority"]
            fixed = {"toggle": 2, "valueSelect": 3}.get(asked.get("typeHint", ""))
            assert made.steps == asked.get("stepCount", fixed)
            span = asked.get("minMax")
            expected = None if span is None else Travel(*(end >> (32 - bits) for end in span))
            if brought_one.ctrl_type != "rpn":
                assert made.travel == expected
            seen.update(["steps"] * (made.steps is not None) + ["travels"] * (span is not None))
        seen.update(["groups"] * bool(found.groups) + ["remarks"] * bool(found.remarks))

    draw()
    assert min(seen[each] for each in ("steps", "travels", "groups", "remarks")) > many // 30
