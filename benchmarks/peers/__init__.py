"""knobpack beside other ways of solving the same requests: ``python -m benchmarks.peers``.

Every peer gets the same request, the same seconds and one core, in its best reasonable form, and
hands in layouts. Each layout is checked and priced by the plain checker, so that no peer marks its
own work. :data:`PEERS` says what each is and what it cannot express.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module

import attrs

from benchmarks.peers.answer import Solve


@attrs.frozen
class Peer:
    """One way of solving requests.

    Args:
        name: as in the results.
        module: where it is, below this package.
        function: its name there.
        packages: what it is made with, for the versions.
        about: what it is, and what it leaves out.
    """

    name: str
    module: str
    function: str
    packages: tuple[str, ...]
    about: str

    def load(self) -> Solve:
        """Import it, with all that it is made with."""
        loaded: Solve = getattr(import_module(f"{__name__}.{self.module}"), self.function)
        return loaded


OURS = "knobpack"

PEERS: Mapping[str, Peer] = {
    peer.name: peer
    for peer in (
        Peer(OURS, "ours", "solve", ("ortools", "numpy", "networkx"), "this library"),
        Peer(
            "cpsat",
            "cpsat",
            "solve",
            ("ortools",),
            "textbook model in CP-SAT, tier by tier from the layout of insertion; symmetries "
            "left to its presolve; all tiers",
        ),
        Peer(
            "cpsat-ordered",
            "cpsat",
            "solve_ordered",
            ("ortools",),
            "the same with alike knobs taken in order: proofs sooner, good layouts later",
        ),
        Peer(
            "highs",
            "milp",
            "solve",
            ("highspy", "numpy"),
            "textbook model as a MILP in HiGHS, tier by tier from the layout of insertion, knobs "
            "in order; all tiers",
        ),
        Peer(
            "rc2",
            "maxsat",
            "solve",
            ("python-sat", "scipy", "numpy"),
            "textbook model of the first four tiers as MaxSAT, stratified RC2, beside the layout "
            "of insertion; the last two are not in its model, its sets are placed by the "
            "annealer's placing",
        ),
        Peer(
            "annealing",
            "annealing",
            "solve",
            ("scipy", "numpy"),
            "simulated annealing over allocations, then over places; all tiers, no bounds",
        ),
        Peer(
            "greedy",
            "insertion",
            "solve",
            ("scipy", "numpy"),
            "each unit in turn where it costs least, as the others begin; no bounds",
        ),
        Peer(
            "colouring",
            "colouring",
            "solve",
            ("networkx", "scipy", "numpy"),
            "greedy colouring by five strategies under a threshold of price, then placing; sees "
            "prices pair by pair only, no bounds",
        ),
    )
}
"""Every way there is, by its name."""
