"""Values for all variables of a model once some are given: a solver then starts from a layout."""

from __future__ import annotations

from collections.abc import Mapping

from benchmarks.peers.booleans import Booleans, Clause

MOST_CLAUSES = 60_000
"""Models of more clauses are left as they are given: it would take longer than it spares."""


def completed(model: Booleans, given: Mapping[int, bool]) -> dict[int, bool]:
    """Extend an assignment to every variable, by unit propagation and a choice where one is left.

    Args:
        model: what holds between the variables.
        given: the values of some of them, as those of a layout are.

    Returns:
        A value for each variable; just those given where they cannot be extended so simply.
    """
    if len(model.clauses) > MOST_CLAUSES:
        return dict(given)
    search = _Completion(model)
    for variable, value in given.items():
        if not search.set(variable if value else -variable):
            return dict(given)
    for clause in model.clauses:
        if any(search.holds(literal) for literal in clause):
            continue
        # Of what may still be true the first will do; a price it has is for the solver to mend.
        free = next((literal for literal in clause if abs(literal) not in search.values), None)
        if free is None or not search.set(free):
            return dict(given)
    for variable in range(1, model.count + 1):
        if variable not in search.values and not search.set(-variable):
            return dict(given)
    return search.values


class _Completion:
    """Values so far, with what follows from them in clauses and limits of one."""

    def __init__(self, model: Booleans) -> None:
        self.values: dict[int, bool] = {}
        self._with: dict[int, list[Clause]] = {}
        for clause in model.clauses:
            for literal in clause:
                self._with.setdefault(literal, []).append(clause)
        self._one_of: dict[int, list[Clause]] = {}
        for limit in model.limits:
            if limit.most == 1:
                for variable in limit.variables:
                    self._one_of.setdefault(variable, []).append(limit.variables)

    def holds(self, literal: int) -> bool:
        """Whether a literal is known to be true."""
        return self.values.get(abs(literal)) is (literal > 0)

    def set(self, literal: int) -> bool:
        """Make a literal true, and all that follows; False where that cannot be."""
        waiting = [literal]
        while waiting:
            literal = waiting.pop()
            variable = abs(literal)
            if variable in self.values:
                if not self.holds(literal):
                    return False
                continue
            self.values[variable] = literal > 0
            for clause in self._with.get(-literal, ()):
                if not self._follows(clause, waiting):
                    return False
            for variables in self._one_of.get(literal, ()):
                waiting += [-other for other in variables if other != variable]
        return True

    def _follows(self, clause: Clause, waiting: list[int]) -> bool:
        """Add the last literal that can still be true; False where there is none."""
        if any(self.holds(literal) for literal in clause):
            return True
        free = [literal for literal in clause if abs(literal) not in self.values]
        if len(free) == 1:
            waiting.append(free[0])
        return bool(free)
