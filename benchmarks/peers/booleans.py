"""Booleans under clauses and limits, with a price on literals for each tier.

The one form that constraint solvers, MILP solvers and MaxSAT solvers all take: a literal is a
variable's number, counted from 1, or its negative.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import attrs

Clause = tuple[int, ...]


@attrs.frozen
class Limit:
    """At most ``most`` of these variables are true; one listed twice counts twice."""

    variables: Clause
    most: int


@attrs.define
class Goal:
    """A sum to be made least: a constant, and a price of 1 or more for each literal that is true.

    Args:
        constant: what is paid in any case; it may be negative.
        prices: literals with their prices.
    """

    constant: int = 0
    prices: list[tuple[int, int]] = attrs.field(factory=list)

    def pay(self, weight: int, literal: int) -> None:
        """Let ``literal`` cost ``weight`` where it is true; a negative weight is a gain."""
        if weight < 0:
            # -w where true is -w always, and +w where false.
            self.constant += weight
            weight, literal = -weight, -literal
        if weight:
            self.prices.append((literal, weight))

    @property
    def most(self) -> int:
        """No assignment costs more."""
        return self.constant + sum(weight for _, weight in self.prices)

    def at(self, true: Sequence[bool]) -> int:
        """The value, where variable ``v`` is ``true[v]``; ``true[0]`` is nobody's."""
        return self.constant + sum(
            weight for literal, weight in self.prices if true[abs(literal)] == (literal > 0)
        )


@attrs.define
class Booleans:
    """Variables, what holds between them, and a goal for each tier that has a price.

    Args:
        count: how many variables there are, numbered from 1.
        clauses: of each at least one literal is true.
        limits: of each at most so many variables are true.
        goals: by the number of the tier.
        meanings: literals that follow from what comes before them: each may be true just where
            any of its literals is. Variables without one are free choices.
    """

    count: int = 0
    clauses: list[Clause] = attrs.field(factory=list)
    limits: list[Limit] = attrs.field(factory=list)
    goals: dict[int, Goal] = attrs.field(factory=dict)
    meanings: list[tuple[int, Clause]] = attrs.field(factory=list)

    def new(self) -> int:
        """A new variable."""
        self.count += 1
        return self.count

    def clause(self, *literals: int) -> None:
        """At least one of these is true."""
        self.clauses.append(literals)

    def at_most(self, variables: Iterable[int], most: int) -> None:
        """At most so many of these are true."""
        listed = tuple(variables)
        if len(listed) > most:
            self.limits.append(Limit(listed, most))

    def goal(self, tier: int) -> Goal:
        """The goal of a tier."""
        return self.goals.setdefault(tier, Goal())

    def means(self, literal: int, literals: Iterable[int]) -> None:
        """A literal may be true just where any of these is; it takes clauses to make it so."""
        self.meanings.append((literal, tuple(literals)))

    def reached_by(self, literals: Iterable[int]) -> int:
        """A variable that is true where any of these is, and may be true elsewhere."""
        found, listed = self.new(), tuple(literals)
        for literal in listed:
            self.clause(-literal, found)
        self.means(found, listed)
        return found

    def all_of(self, *literals: int) -> int:
        """A variable that is true where all of these are, and may be true elsewhere."""
        found = self.new()
        off = tuple(-literal for literal in literals)
        self.clause(*off, found)
        self.means(-found, off)
        return found

    def any_of(self, literals: Sequence[int]) -> int:
        """A variable that is true just where any of these is."""
        found = self.reached_by(literals)
        self.clause(-found, *literals)
        return found
