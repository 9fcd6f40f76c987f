"""Plain: what is refused and where, and how an allocation is written."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from knobpack.allocation import Allocation, Following, NewLayer, Tier
from knobpack.checker import check, follows
from knobpack.definition.prices import TIERS
from knobpack.errors import InputError
from knobpack.files import dumps, from_plain, load, loads, save, to_plain
from knobpack.words import Setup, Surface
from tests.samples import REQUEST

Change = Callable[[dict[str, Any]], object]

REFUSED: list[tuple[Change, str, str]] = [
    (lambda d: d.pop("knobpack"), "knobpack", 'one of "setup", "request", "layout"'),
    (lambda d: d.update(knobpack="patch"), "knobpack", 'one of "setup", "request", "layout"'),
    (lambda d: d.update(knobpack=["request"]), "knobpack", "one of"),
    (lambda d: d.update(knobpack="answers"), "definition", "must be there"),
    (lambda d: d.pop("version"), "version", "can be read are: 1"),
    (lambda d: d.update(version=2), "version", "can be read are: 1"),
    (lambda d: d.update(version=True), "version", "can be read are: 1"),
    (lambda d: d.update(version="1"), "version", "can be read are: 1"),
    (lambda d: d.update(knobpack="reqest"), "knobpack", "close to it: request"),
    (lambda d: d.update(snapshot=[]), "snapshot", "close to it: snapshots"),
    (lambda d: d["surface"].update(knob=8), "surface.knob", "close to it: knobs"),
    (
        lambda d: d["voices"][0]["destinations"][0].update(prioritiy=1),
        "voices[0].destinations[0].prioritiy",
        "close to it: priority",
    ),
    (lambda d: d["rules"][0].update(rule="togehter"), "rules[0].rule", "close to it: together"),
    (lambda d: d["surface"].update(knobs=-1), "surface.knobs", "how many stand in one row"),
    (lambda d: d["surface"].update(knobs=10_001), "surface.knobs", "0 to 10000"),
    (lambda d: d["surface"].update(knobs=True), "surface.knobs", "give a list"),
    (lambda d: d.update(tempo=120), "tempo", "the keys are"),
    (lambda d: d.update({"two words": 1}), '["two words"]', "not known"),
    (lambda d: d.update({"\n" * 999: 1}), '["' + "\\n" * 40 + '"]', "not known"),
    (lambda d: d.update({"\ud800": 1}), '["\\ud800"]', "a key is text"),
    (lambda d: d.pop("surface"), "surface", "must be there"),
    (lambda d: d.update(surface=[]), "surface", '"knobs", "bits"'),
    (lambda d: d.update(keep=None), "keep", '"routes", "travels", "layers"'),
    (lambda d: d["surface"].update(bits="14"), "surface.bits", "from 2 to 32"),
    (lambda d: d["surface"].update(bits=True), "surface.bits", "from 2 to 32"),
    (lambda d: d["surface"].update(bits=14.0), "surface.bits", "whole number"),
    (lambda d: d["surface"].update(bits=float("nan")), "surface.bits", "whole number"),
    (lambda d: d["surface"].update(bits=float("-inf")), "surface.bits", "whole number"),
    (lambda d: d["surface"].update(bits=10**20), "surface.bits", "at most 20 digits"),
    (lambda d: d["surface"].update(bits=10**20 - 1), "surface.bits", "from 2 to 32"),
    (lambda d: d["surface"].update(knobs={"K1": {}}), "surface.knobs", "give a list"),
    (lambda d: d["surface"].update(knobs=["K1"]), "surface.knobs[0]", '"name", "row"'),
    (lambda d: d["surface"].update(reserved="K3"), "surface.reserved", "give a list"),
    (lambda d: d["groups"][0]["members"].append("Bas"), "groups[0].members[2]", "name a voice"),
    (lambda d: d["voices"][0].update(name="a\ud800"), "voices[0].name", "surrogate"),
    (lambda d: d["voices"][0].update(name=3), "voices[0].name", "a name is text"),
    (lambda d: d["voices"][0].update(source=False), "voices[0].source", "a name is text"),
    (
        lambda d: d["voices"][0]["destinations"][1].update(name="cutoff"),
        "voices[0].destinations[1].name",
        "twice",
    ),
    (
        lambda d: d["voices"][0]["destinations"][1]["travel"].update(start=-1),
        "voices[0].destinations[1].travel.start",
        "from 0 to 4294967295",
    ),
    (
        lambda d: d["voices"][0]["destinations"][1]["travel"].update(end=16384),
        "voices[0].destinations[1].travel.end",
        "from 0 to 16383 at 14 bits",
    ),
    (
        lambda d: d["voices"][0]["destinations"][1]["travel"].pop("end"),
        "voices[0].destinations[1].travel.end",
        "must be there",
    ),
    (
        lambda d: d["voices"][0]["destinations"][1].update(travel=[0, 1]),
        "voices[0].destinations[1].travel",
        '"start", "end"',
    ),
    (
        lambda d: d["voices"][2]["destinations"][0].update(movable=0),
        "voices[2].destinations[0].movable",
        "true or false",
    ),
    (lambda d: d["rules"][0].update(rule="near"), "rules[0].rule", '"together", "apart"'),
    (lambda d: d["rules"][0].pop("rule"), "rules[0].rule", '"together", "apart"'),
    (lambda d: d["rules"].append("alone"), "rules[2]", '"together", "apart"'),
    (lambda d: d["rules"][0].update(names=["Pad"]), "rules[0].names", "not known"),
    (lambda d: d["keep"]["routes"][0].update(knob="K4"), "keep.routes[0].knob", "name a knob"),
    (
        lambda d: d["keep"]["routes"][0].update(destination="Bass/level"),
        "keep.routes[0].destination",
        "name a voice/destination",
    ),
    (lambda d: d["previous"].update(version=1), "previous.version", "not known"),
    (lambda d: d["weights"].update(sequence=10_001), "weights.sequence", "from 0 to 10000"),
    (lambda d: d["weights"].update(travel=[1, 2, 3, 4]), "weights.travel", "give 5 weights"),
    (lambda d: d["weights"].update(split=250), "weights.split", "not known"),
    (lambda d: d["weights"].update(travel=[1, 2, 3, 4, "5"]), "weights.travel[4]", "whole number"),
]


@pytest.mark.parametrize(("change", "field", "right"), REFUSED)
def test_a_file_is_refused_where_it_goes_wrong(change: Change, field: str, right: str) -> None:
    plain = to_plain(REQUEST)
    change(plain)
    with pytest.raises(InputError, match=re.escape(right)) as caught:
        loads(json.dumps(plain))
    assert caught.value.field == field
    with pytest.raises(InputError) as again:
        from_plain(plain)
    assert again.value.field == field


def test_a_number_of_knobs_is_a_row_of_so_many() -> None:
    plain = {"knobpack": "setup", "version": 1, "name": "Set", "surface": {"knobs": 8, "bits": 10}}
    assert from_plain(plain) == Setup("Set", Surface.row(8, bits=10))
    assert from_plain(to_plain(from_plain(plain))) == from_plain(plain)
    assert from_plain(plain | {"surface": {"knobs": 0}}) == Setup("Set", Surface(()))


@pytest.mark.parametrize("data", [[], "request", 3, True, None, 1.5, b"{}", ()])
def test_only_an_object_is_a_word(data: object) -> None:
    with pytest.raises(InputError) as caught:
        from_plain(data)
    assert caught.value.field == "top level"


def test_plain_data_holds_what_json_holds_and_no_circle() -> None:
    circle: dict[str, Any] = to_plain(REQUEST)
    circle["voices"] = [circle]
    with pytest.raises(InputError, match="nest at most 32"):
        from_plain(circle)
    with pytest.raises(InputError, match="give an object, a list, text") as caught:
        from_plain(to_plain(REQUEST) | {"groups": ()})
    assert caught.value.field == "groups"
    with pytest.raises(InputError, match="a key is text") as caught:
        from_plain({7: 1})
    assert caught.value.field == '["7"]'


def allocation() -> Allocation:
    """An allocation made by hand: the one route that is kept, all else left out."""
    layout = REQUEST.keep
    found = check(REQUEST, layout)
    return Allocation(
        REQUEST,
        layout.routes,
        found.travels,
        tuple(Following(each.name, follows(REQUEST, layout, each.name)) for each in REQUEST.played),
        ("Pad/cutoff", "Pad/level", "Drône №1/level"),
        (NewLayer("Pad", None, None, 1), NewLayer("Bass", None, 2, 2)),
        tuple(
            Tier(tier, value, 0, proven=False)
            for tier, value in zip(TIERS, found.prices.totals, strict=True)
        ),
        found.prices,
        "time limit",
    )


def test_an_allocation_is_written_whole_with_its_request(tmp_path: Path) -> None:
    made = allocation()
    plain = to_plain(made)
    assert json.loads(dumps(made)) == plain == to_plain(made)
    assert list(plain) == [
        *(
            "knobpack",
            "version",
            "essential_out",
            "routes",
            "travels",
            "following",
            "unplaced",
            "layers",
        ),
        *("tiers", "prices", "stopped", "definition", "request"),
    ]
    assert plain["knobpack"] == "allocation"
    assert plain["version"] == 1
    assert plain["routes"] == [{"destination": "Bass/cutoff", "knob": "K3", "travel": None}]
    assert plain["travels"] == [{"knob": "K3", "travel": {"start": 9, "end": 1}}]
    assert plain["following"][1] == {"snapshot": "low", "knobs": ["K3"]}
    assert plain["layers"][0] == {"voice": "Pad", "source": None, "old": None, "new": 1}
    # Three of the default weight of priority 3 are left out.
    first = {"name": "unplaced", "value": 48, "bound": 0, "proven": False, "as_shared": 0}
    assert plain["tiers"][0] == first
    assert plain["prices"]["omissions"][0] == {
        "destination": "Pad/cutoff",
        "price": 16,
        "hidden": 0,
    }
    assert plain["stopped"] == "time limit"
    assert plain["request"] == to_plain(made.request)
    save(tmp_path / "made.json", made)
    with pytest.raises(InputError, match="'Drône №1' needs a layer, but it has none") as caught:
        load(tmp_path / "made.json")  # it is none: made by hand, and not checked
    assert caught.value.field == "routes"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('{"knobpack": "layout"}', "version: is missing; the versions that can be read are: 1"),
        ('{"version": 1}', "knobpack: is missing; say what this is"),
        ('{"knobpack": "layout", "version": 1, "routes": [{}]}', "routes[0].destination: is miss"),
    ],
)
def test_a_key_that_is_missing_is_said_to_be(text: str, told: str) -> None:
    with pytest.raises(InputError) as caught:
        loads(text)
    assert str(caught.value).startswith(told)
