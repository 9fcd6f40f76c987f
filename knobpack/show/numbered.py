"""The songs of a show in whole numbers: the problem each poses, and what its items are there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

import attrs

from knobpack.allocation import Allocation
from knobpack.checker import check
from knobpack.definition.phrases import ESSENTIAL
from knobpack.numbered.problem import Problem, bits
from knobpack.numbered.request import problem_of
from knobpack.show.asked import AskedSong, Key
from knobpack.show.definition import loads_joined
from knobpack.show.prices import ALONE
from knobpack.words import KnobTravel, Layout, Route, Travel


@attrs.frozen(eq=False)
class Placed:
    """How one song is laid out.

    Args:
        knobs: the knob of each item that is placed.
        goes: the travel that each of them goes over.
    """

    knobs: Mapping[int, int]
    goes: Mapping[int, Travel]


@attrs.frozen(eq=False)
class Numbered:
    """One song in whole numbers.

    Args:
        asked: what it asks for.
        alone: what it is like by itself.
        most_joined: how many loads may share knobs, for each knob its loads less one, added up; and
            how many pairs of them may be on one knob with something essential.
    """

    asked: AskedSong
    alone: Allocation
    most_joined: tuple[int, int]

    @cached_property
    def problem(self) -> Problem:
        """The problem that it poses, what is essential apart from all other loads if it must be."""
        problem, found = self._contracted, list[int]()
        if self.most_joined[1]:
            return problem
        for atom, clashes in zip(problem.atoms, problem.clashes, strict=True):
            own = sum(load for load in self.loads if load & atom.items)
            found.append(clashes)
            for at, other in enumerate(problem.atoms):
                if (atom.items | other.items) & self.essential and not own & other.items:
                    found[-1] |= 1 << at
        return attrs.evolve(problem, clashes=tuple(found))

    @cached_property
    def _contracted(self) -> Problem:
        """The problem as it is asked, its bundles joined where none may be parted needlessly."""
        from knobpack.solver.contraction import contracted

        problem = problem_of(self.asked.request)
        smaller, held = contracted(problem), self.held
        if smaller is None or held["unplaced"]:
            return problem
        least = smaller.floor((1 << problem.items) - 1)
        return smaller.problem if held["bundles"] == least else problem

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The full name of each item."""
        return tuple(self.asked.request.by_full_name)

    @cached_property
    def item_of(self) -> dict[Key, int]:
        """The item that each destination of the show is here."""
        return {self.asked.key_of(name): item for item, name in enumerate(self.names)}

    @cached_property
    def kinds(self) -> dict[str, int]:
        """For each kind, the mask of its items."""
        found: dict[str, int] = {}
        for item, inner in enumerate(self.asked.request.by_full_name.values()):
            found[inner.kind] = found.get(inner.kind, 0) | 1 << item
        return found

    @cached_property
    def roles(self) -> dict[str, int]:
        """For each role, the mask of its items."""
        found: dict[str, int] = {}
        for (role, _), item in self.item_of.items():
            found[role] = found.get(role, 0) | 1 << item
        return found

    @cached_property
    def loads(self) -> tuple[int, ...]:
        """Its loads, as masks of items."""
        item = {name: at for at, name in enumerate(self.names)}
        several = [sum(1 << item[name] for name in load) for load in self.asked.request.loads]
        rest = (1 << len(self.names)) - 1 & ~sum(several)
        return (*several, *(1 << alone for alone in bits(rest)))

    @cached_property
    def essential(self) -> int:
        """The mask of what is essential."""
        inner = self.asked.request.by_full_name.values()
        return sum(1 << item for item, each in enumerate(inner) if each.priority == ESSENTIAL)

    @cached_property
    def held(self) -> dict[str, int]:
        """What it comes to alone in the tiers in which it is to be no worse."""
        return {tier: self.alone.prices.total(tier) for tier in ALONE}

    @cached_property
    def travels(self) -> dict[int, Travel]:
        """The travels that a knob may have, by their position in the problem."""
        request, knobs = self.asked.request, self.asked.request.surface.knob_names
        found = {at: request.wanted(self.names[i]) for i, at in enumerate(self.problem.wanted)}
        kept = {each.knob: each.travel for each in request.keep.travels}
        found |= {at: kept[knobs[knob]] for knob, at in self.problem.kept_travels.items()}
        previous = request.previous.travels if request.previous else ()
        there = {each.knob: each.travel for each in previous}
        return found | {at: there[knobs[knob]] for knob, at in self.problem.travels_there.items()}

    def takes(self, layout: Layout) -> bool:
        """Whether the song may be laid out so: valid, no worse than alone, no more joined."""
        request = self.asked.request
        found = check(request, layout)
        on = {route.destination: route.knob for route in layout.routes}
        joined = zip(loads_joined(request, on), self.most_joined, strict=True)
        return (
            found.valid
            and all(found.prices.total(tier) <= most for tier, most in self.held.items())
            and all(loads <= most for loads, most in joined)
        )

    def placed(self, layout: Layout) -> Placed:
        """A layout of it in whole numbers, travels with it."""
        knob = {name: at for at, name in enumerate(self.asked.request.surface.knob_names)}
        item = {name: at for at, name in enumerate(self.names)}
        return Placed(
            {item[route.destination]: knob[route.knob] for route in layout.routes},
            {item[name]: travel for name, travel in layout.goes.items()},
        )

    def layout(self, placed: Placed) -> Layout:
        """Such a placement as a layout."""
        surface = self.asked.request.surface
        panel = surface.knob_names
        goes = {panel[knob]: placed.goes[item] for item, knob in placed.knobs.items()}
        return Layout(
            [Route(self.names[item], panel[knob]) for item, knob in placed.knobs.items()],
            [] if surface.per_route else [KnobTravel(*each) for each in goes.items()],
        )


def numbered_songs(
    asked: Sequence[AskedSong], alone: Sequence[Allocation], more: int
) -> tuple[Numbered, ...]:
    """The songs of a show in whole numbers.

    Args:
        asked: what each song asks for.
        alone: what each is like by itself.
        more: how many loads more than alone may share a knob in each.
    """
    found = []
    for each, laid in zip(asked, alone, strict=True):
        loads, beside = loads_joined(each.request, {r.destination: r.knob for r in laid.routes})
        found.append(Numbered(each, laid, (loads + more, beside + more)))
    return tuple(found)
