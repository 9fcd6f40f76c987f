"""The foreign kinds: the same for a seed, of the sizes promised, and reported as they are."""

from __future__ import annotations

from itertools import combinations

import attrs
import pytest

from benchmarks.foreign import main, summary
from benchmarks.foreign_requests import FOREIGN
from benchmarks.peers import OURS
from benchmarks.peers.rows import Row
from knobpack import allocate_request

SMALL = [kind for kind in FOREIGN if kind != "huge"]

SIZES = {
    "breakable": (range(20, 161), range(6, 17)),
    "routes": (range(20, 145), range(5, 33)),
    "family": (range(60, 201), range(16, 65)),
    "alike": (range(40, 81), range(8, 25)),
    "ruled": (range(24, 61), range(8, 17)),
    "planted": (range(15, 61), range(4, 13)),
    "snapshots": (range(40, 81), range(8, 17)),
    "voices": (range(64, 241), range(8, 33)),
}


@pytest.mark.parametrize("kind", SMALL)
def test_sizes_are_as_they_say_and_the_same_seed_gives_the_same(kind: str) -> None:
    counts, knobs = SIZES[kind]
    requests = [FOREIGN[kind](seed) for seed in range(12)]
    assert all(len(request.destinations) in counts for request in requests)
    assert all(len(request.surface.knobs) in knobs for request in requests)
    assert requests[3] == FOREIGN[kind](3)
    assert all(one != other for one, other in combinations(requests, 2))


def test_what_cannot_be_packed_with_whole_bundles_is_packed_otherwise() -> None:
    # To see that whole bundles do not fit here takes more effort than there is.
    found = allocate_request(FOREIGN["planted"](310_047), effort=0.5)
    assert not found.unplaced
    assert len(found.routes) == 56


def a_row(peer: str, values: tuple[int, ...], bounds: tuple[int, ...] = ()) -> Row:
    filled: dict[str, object] = {field.name: 0 for field in attrs.fields(Row)}
    filled |= {"request": "one", "kind": "family", "peer": peer, "limit": 1.0, "valid": True}
    filled |= {"values": values, "bounds": bounds, "proven": 0, "failed": ""}
    return Row(**filled)  # type: ignore[arg-type]


def test_a_summary_counts_who_is_better_and_what_is_near_its_bounds() -> None:
    ours = a_row(OURS, (0, 0, 200, 1_000, 9, 9), (0, 0, 198, 990))
    (line,) = summary([ours, a_row("greedy", (0, 0, 200, 1_000, 0, 0))])
    assert line == "family: 1 of 1 as good as any peer; 1 near their bounds; 0 proven"
    far = attrs.evolve(ours, bounds=(0, 0, 197))
    (line,) = summary([far, a_row("greedy", (0, 0, 199, 5_000, 0, 0))])
    assert line == "family: 0 of 1 as good as any peer; 0 near their bounds; 0 proven"


def test_the_command_prints_each_race_and_a_summary(capsys: pytest.CaptureFixture[str]) -> None:
    given = ["--kinds", "planted", "--first", "3", "--seeds", "1", "--limit", "2"]
    code = main([*given, "--peers", f"{OURS},greedy"])
    told = capsys.readouterr().out
    assert code in (0, 1)
    assert told.count("planted 8/56 seed 3") == 2
    assert "planted: " in told
