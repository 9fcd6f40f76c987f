"""Every layout of a small setup that its snapshots allow, and what each loses and moves."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator
from itertools import combinations, product

from knobpack.words import Setup

LOSS = {1: 256, 2: 64, 3: 16, 4: 4, 5: 0}
"""What a destination costs that is left out, by priority: as the weights say by default."""

Where = dict[str, str | None]
Cost = tuple[int, int, int]


def knob_of(setup: Setup) -> Where:
    return {route.destination: route.knob for route in setup.routes}


def full(setup: Setup, names: Iterable[str]) -> set[str]:
    inside = {f"{v.name}/{each.name}": v.name for v in setup.voices for each in v.destinations}
    return {name for name, voice in inside.items() if name in names or voice in names}


def priorities(setup: Setup) -> dict[str, int]:
    return {f"{v.name}/{each.name}": each.priority for v in setup.voices for each in v.destinations}


def layouts(
    setup: Setup,
    *,
    shut: Collection[str] = (),
    edited: Collection[str] = (),
    will_do: Callable[[Where], bool] = lambda _: True,
) -> Iterator[Where]:
    """Every layout that snapshots allow.

    Args:
        setup: what is there; what shares a knob in it may go on doing so.
        shut: knobs that take nothing.
        edited: what is laid out besides what is driven, and what is as if it were new.
        will_do: what else must hold of a layout.
    """
    before = knob_of(setup)
    asked = [name for name in priorities(setup) if name in before or name in edited]
    moves = [full(setup, snapshot.moves) for snapshot in setup.snapshots]
    panel = [knob for knob in setup.surface.knob_names if knob not in shut]
    most = setup.surface.destinations_per_knob or len(asked)
    for places in product((None, *panel), repeat=len(asked)):
        now = dict(zip(asked, places, strict=True))
        if max(Counter(at for at in places if at).values(), default=0) > most or not will_do(now):
            continue
        if not any(
            now[a] is not None
            and now[a] == now[b]
            and any((a in moved) != (b in moved) for moved in moves)
            and not (a in before and before[a] == before.get(b) and not {a, b} & {*edited})
            for a, b in combinations(asked, 2)
        ):
            yield now


def cost(setup: Setup, now: Where, edited: Collection[str] = ()) -> Cost:
    """What is lost, the bundles, less what an edit names, and the routes that are elsewhere."""
    before, rank = knob_of(setup), priorities(setup)
    elsewhere = [name for name in before if now[name] != before[name]]
    lost = sum(LOSS[rank[name]] for name, at in now.items() if at is None)
    bundles = {before[name] for name in elsewhere if name not in edited}
    return lost, len(bundles), len(elsewhere)
