"""Questions as methods of what they are asked about, and what an allocation says of itself."""

from __future__ import annotations

import csv
import inspect
import io

import attrs
import pytest

from benchmarks.generator import plain, varied
from knobpack import (
    Allocation,
    Apart,
    Destination,
    InputError,
    KnobTravel,
    Layout,
    Request,
    Route,
    Snapshot,
    Surface,
    Travel,
    Voice,
    allocate_request,
    questions,
)
from tests.test_wrong_kinds import BOUND, RIGHT

PAD = Voice("Pad", [Destination("cutoff", priority=1), Destination("level")])
BASS = Voice("Bass", [Destination("drive", travel=Travel(10, 20))], layer=2)
REQUEST = Request(Surface.row(2), [PAD, BASS])
FOUND = allocate_request(REQUEST)
TIGHT = allocate_request(attrs.evolve(REQUEST, surface=Surface.row(1)))


@pytest.mark.parametrize(("owner", "name"), BOUND)
def test_a_method_is_the_function_of_what_it_is_asked_about(owner: type, name: str) -> None:
    function = getattr(questions, name)
    assert getattr(owner, name) is function
    about, *given = RIGHT[name].values()
    assert getattr(about, name)(*given) == function(about, *given)


def test_a_method_tells_what_it_takes() -> None:
    assert str(inspect.signature(FOUND.why)).startswith("(destination: ")


def test_why_something_is_left_out_is_asked_likewise() -> None:
    (out,) = TIGHT.unplaced
    assert TIGHT.why(out) == TIGHT.why_unplaced(out) == questions.why_unplaced(TIGHT, out)


def test_a_knob_is_as_good_as_its_name() -> None:
    one, two = REQUEST.surface.knobs
    assert FOUND.on(two) == FOUND.on("K2")
    assert FOUND.why_not("Bass/drive", one, solve=True) == FOUND.why_not(
        "Bass/drive", "K1", solve=True
    )
    assert FOUND.why_shared(one) == FOUND.why_shared("K1")


def test_an_allocation_says_which_knob_and_travel_a_destination_has() -> None:
    assert FOUND.knob_of("Bass/drive") == "K2"
    assert FOUND.travel_of("Bass/drive") == Travel(10, 20)
    assert FOUND.on("K2") == ("Bass/drive",)
    (out,) = TIGHT.unplaced
    assert TIGHT.knob_of(out) is None
    assert TIGHT.travel_of(out) is None
    on_routes = attrs.evolve(REQUEST, surface=Surface.row(2, travel_on="route"))
    for routed in allocate_request(on_routes).routes:
        assert routed.travel == FOUND.travel_of(routed.destination)


@pytest.mark.parametrize("wrong", ["Pad/cutof", "K3", "", None, 3])
def test_what_names_nothing_is_refused(wrong: str) -> None:
    for call in (FOUND.on, FOUND.knob_of, FOUND.travel_of, FOUND.why, FOUND.why_shared):
        with pytest.raises(InputError):
            call(wrong)
    with pytest.raises(InputError, match="close to it: Pad/cutoff"):
        FOUND.knob_of("Pad/cutof")
    with pytest.raises(InputError, match="name a knob of the surface; close to it: K1"):
        FOUND.on("k1")


def test_records_are_rows_of_a_table() -> None:
    records = TIGHT.to_records()
    names = list(REQUEST.by_full_name)
    assert [each["destination"] for each in records] == names
    assert [each["knob"] for each in records] == list(map(TIGHT.knob_of, names))
    assert records[0] == {
        "destination": "Pad/cutoff",
        "voice": "Pad",
        "name": "cutoff",
        "kind": "cutoff",
        "priority": 1,
        "layer": 1,
        "knob": "K1",
        "start": 0,
        "end": 127,
        "moves in everything": True,
        "moves in only Pad": True,
        "moves in only Bass": False,
    }
    text = io.StringIO()
    table = csv.DictWriter(text, list(records[0]))
    table.writeheader()
    table.writerows(records)
    assert len(text.getvalue().splitlines()) == 4
    pandas = pytest.importorskip("pandas")
    assert pandas.DataFrame(records).shape == (3, 12)


@pytest.mark.parametrize("make", [plain, varied])
@pytest.mark.parametrize("seed", range(6))
def test_the_layout_of_an_allocation_makes_one_that_differs_in_proofs_alone(
    make: object, seed: int
) -> None:
    assert callable(make)
    found: Allocation = allocate_request(make(seed, 8))
    again = Allocation.of(found.request, found.layout)
    bare = Allocation.of(found.request, Layout(tuple(reversed(found.routes))))
    for other in (again, bare):
        assert [tier.value for tier in other.tiers] == [tier.value for tier in found.tiers]
        assert attrs.evolve(other, tiers=found.tiers) == found
        assert other.proven == (not any(tier.value for tier in found.tiers))


def test_a_layout_made_elsewhere_is_explained_and_not_proven() -> None:
    request = attrs.evolve(REQUEST, snapshots=[Snapshot("all", [PAD, BASS])])
    found = Allocation.of(request, Layout.of({"K2": list(request.by_full_name)}))
    assert not found.proven
    assert found.gap == 1.0
    assert FOUND.gap == 0.0
    assert [tier.gap for tier in found.tiers if tier.value] == [1.0] * 2
    assert "not proven best" in str(found)
    better = found.why_not("Pad/level", "K1").comparison
    assert better is not None
    assert better.tier == "sharing"
    assert sum(better.after) < sum(better.before)
    assert found.explain().sentences


def test_a_layout_that_will_not_do_is_refused() -> None:
    both = Layout.of({"K1": ["Pad/level", "Bass/drive"]})
    with pytest.raises(InputError, match="give one that meets every demand: snapshot") as caught:
        Allocation.of(REQUEST, both)
    assert caught.value.field == "Allocation.of.layout"
    for wrong in (
        Layout.of({"K3": "Pad/level"}),
        Layout.of({"K1": "Pad/air"}),
        Layout((Route("Pad/level", "K1"),), [KnobTravel("K1", Travel(0, 128))]),
    ):
        with pytest.raises(InputError):
            Allocation.of(REQUEST, wrong)
    parted = attrs.evolve(REQUEST, rules=[Apart("Pad/level", "Pad/cutoff")])
    with pytest.raises(InputError, match="apart"):
        Allocation.of(parted, Layout.of({"K1": ["Pad/level", "Pad/cutoff"]}))
