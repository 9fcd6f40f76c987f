"""Models for CP-SAT, put together with the compiled part of ortools alone.

``ortools.sat.python.cp_model``, the part that is written in Python, imports pandas, which takes as
long as everything else that a first answer needs. It is a thin layer over ``cp_model_helper``,
which holds the expressions and the solver, and of that layer only so much is needed: it is here,
under the names that it has there. What is relied on is no documented interface, so
``tests/solver/cp_sat/test_cp_model.py`` names all of it.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeAlias

from ortools.sat.python import cp_model_helper as compiled
from ortools.util.python.sorted_interval_list import Domain  # type: ignore[import-untyped]

LinearExpr: TypeAlias = compiled.LinearExpr
IntVar: TypeAlias = compiled.IntVar
LinearExprT: TypeAlias = LinearExpr | int
LiteralT: TypeAlias = compiled.Literal | int
Constraint: TypeAlias = compiled.Constraint

_BOOLEAN = Domain(0, 1)
_KIND = compiled.BoolArgumentConstraint


class CpModel(compiled.CpBaseModel):
    """A model: its variables, what must hold, and what is to be least.

    Literals are variables that are 0 or 1, their negations, and the numbers 0 and 1 themselves.
    """

    def __init__(self) -> None:
        super().__init__(None)

    def clone(self) -> CpModel:
        """A model that is the same, of the same variables."""
        other = CpModel()
        other.model_proto.copy_from(self.model_proto)
        other.rebuild_constant_map()
        return other

    def new_bool_var(self, name: str) -> IntVar:
        """A variable that is 0 or 1."""
        return self._named(compiled.IntVar(self.model_proto).with_domain(_BOOLEAN), name)

    def new_int_var(self, low: int, high: int, name: str) -> IntVar:
        """A variable that is a whole number from ``low`` to ``high``."""
        return self._named(compiled.IntVar(self.model_proto).with_domain(Domain(low, high)), name)

    @staticmethod
    def _named(variable: IntVar, name: str) -> IntVar:
        return variable.with_name(name) if name else variable

    def add(self, relation: compiled.BoundedLinearExpression | bool) -> Constraint:
        """What one expression is to another; where both are numbers, whether it is so."""
        if isinstance(relation, compiled.BoundedLinearExpression):
            return self._add_bounded_linear_expression(relation)  # type: ignore[attr-defined, no-any-return]
        return self.add_bool_or(relation)

    def add_bool_or(self, *literals: LiteralT | Iterable[LiteralT]) -> Constraint:
        """At least one of these holds."""
        return self._add_of(_KIND.bool_or, *literals)

    def add_at_most_one(self, *literals: LiteralT | Iterable[LiteralT]) -> Constraint:
        """At most one of these holds."""
        return self._add_of(_KIND.at_most_one, *literals)

    def add_exactly_one(self, *literals: LiteralT | Iterable[LiteralT]) -> Constraint:
        """Exactly one of these holds."""
        return self._add_of(_KIND.exactly_one, *literals)

    def add_implication(self, one: LiteralT, other: LiteralT) -> Constraint:
        """If the one holds, so does the other."""
        implied = self._add_of(_KIND.bool_and, other)
        implied.only_enforce_if(one)
        return implied

    def _add_of(
        self, kind: compiled.BoolArgumentConstraint, *literals: LiteralT | Iterable[LiteralT]
    ) -> Constraint:
        return self._add_bool_argument_constraint(kind, *literals)  # type: ignore[attr-defined, no-any-return]

    def add_max_equality(self, target: LinearExprT, expressions: Iterable[LinearExprT]) -> None:
        """The target is the largest of these."""
        kind = compiled.LinearArgumentConstraint.max
        self._add_linear_argument_constraint(kind, target, *expressions)  # type: ignore[attr-defined]

    def minimize(self, cost: LinearExprT) -> None:
        """From now on, this is to be least."""
        self.clear_objective()
        flat = compiled.FlatIntExpr(LinearExpr.constant(0) + cost)
        objective = self.model_proto.objective
        objective.scaling_factor, objective.offset = 1.0, flat.offset
        objective.vars.extend([variable.index for variable in flat.vars])
        objective.coeffs.extend(flat.coeffs)

    def has_objective(self) -> bool:
        """Whether something is to be least."""
        return bool(self.model_proto.has_objective())

    def clear_objective(self) -> None:
        """From now on, nothing is to be least."""
        self.model_proto.clear_objective()
