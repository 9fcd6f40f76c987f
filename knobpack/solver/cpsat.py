"""The one place that runs CP-SAT: one worker, a fixed seed, exact readings, prompt stops."""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Sequence
from enum import Enum

import attrs
from ortools.sat.python import cp_model

from knobpack.errors import Fault
from knobpack.solver.watch import EFFORT, TIME_LIMIT, Watch

MOST_SYMMETRIC = 5_000
"""Variables of a model, at most, whose symmetries are looked for: in larger ones presolve may work
on them for a minute, and hears no stop."""

_POLL = 0.02
"""Seconds between two looks at the watch while the solver runs."""

_SPENT = 0.9
"""The share of its effort below which a run that ended early was not stopped by that."""


class Status(Enum):
    """What is known after a run."""

    OPTIMAL = "optimal"
    FEASIBLE = "feasible"
    IMPOSSIBLE = "impossible"
    UNKNOWN = "unknown"


@attrs.frozen
class Answer:
    """What a run found.

    Args:
        status: what is known.
        bound: no solution has a lower objective; None where nothing is known or the model has
            no objective.
        value: reads an expression in the solution found; None where none was found.
        core: the assumptions that cannot hold together (not minimal), if it is impossible.
    """

    status: Status
    bound: int | None
    value: Callable[[cp_model.LinearExprT], int] | None
    core: tuple[int, ...] = ()

    @property
    def found(self) -> bool:
        """Whether there is a solution to read."""
        return self.value is not None


class _Enough(cp_model.CpSolverSolutionCallback):
    """Stops the search once a solution is known to be as good as any."""

    def __init__(self, enough: int) -> None:
        super().__init__()
        self._enough = enough
        self.reached = False

    def on_solution_callback(self) -> None:
        if round(self.objective_value) <= self._enough:
            self.reached = True
            self.stop_search()


def solve(
    model: cp_model.CpModel,
    watch: Watch,
    *,
    effort: float = math.inf,
    enough: int | None = None,
    linear: bool = False,
    confirm: bool = False,
) -> Answer:
    """Run CP-SAT on ``model`` until it is done or the watch stops it.

    Args:
        model: built afresh for this run.
        watch: how long the search may go on; what the run used is counted in it.
        effort: a limit of deterministic effort for this run alone.
        enough: an objective value, known to be a bound, at which the search may stop.
        linear: whether to put all that can be put so into the linear relaxation.
        confirm: whether *impossible* is to be found twice: the second time without presolve, in
            which false ones came up (google/or-tools issue 5274), and from another seed. Where the
            second run finds a solution, that counts.

    Returns:
        What was found. Nothing is read from the solver unless its status says it is there.
    """
    answer = _solved(model, watch, effort, enough, linear=linear)
    if confirm and answer.status is Status.IMPOSSIBLE:
        return _solved(model, watch, effort, enough, linear=linear, again=True)
    return answer


def _solved(
    model: cp_model.CpModel,
    watch: Watch,
    effort: float,
    enough: int | None,
    *,
    linear: bool,
    again: bool = False,
) -> Answer:
    """Run CP-SAT once; ``again``: without presolve and from another seed."""
    if watch.over():
        return Answer(Status.UNKNOWN, None, None)
    limit, all_of_it = min(effort, watch.effort), effort >= watch.effort
    solver = _solver(model, watch, limit, linear=linear, again=again)
    callback = None if enough is None else _Enough(enough)
    status = _run(solver, model, watch, callback)
    spent = solver.response_proto.deterministic_time
    watch.spend(spent)
    if status == cp_model.MODEL_INVALID:
        raise Fault(f"knobpack built a model that is not valid: {model.validate()}")
    if status == cp_model.INFEASIBLE:
        core = tuple(solver.sufficient_assumptions_for_infeasibility())
        return Answer(Status.IMPOSSIBLE, None, None, core)
    bound = None
    if model.has_objective() and status in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.UNKNOWN):
        # The solver's bound is a double; a bound on whole costs is rounded up, less its error.
        raw = solver.best_objective_bound
        bound = math.ceil(raw - max(1e-6, abs(raw) * 1e-15)) if math.isfinite(raw) else None
    if status == cp_model.OPTIMAL:
        return Answer(Status.OPTIMAL, bound, solver.value)
    reached = callback is not None and callback.reached
    early = spent < limit * _SPENT and not reached
    if all_of_it and not early and not reached:
        watch.short = EFFORT
    if not watch.over() and watch.deadline is not None and early:
        # On a busy machine the solver gives up ahead of its time, lest it overrun it.
        watch.stopped = TIME_LIMIT
    if status == cp_model.FEASIBLE:
        return Answer(Status.FEASIBLE, bound, solver.value)
    return Answer(Status.UNKNOWN, bound, None)


def _solver(
    model: cp_model.CpModel, watch: Watch, limit: float, *, linear: bool, again: bool
) -> cp_model.CpSolver:
    """A solver with what it is told for one run."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 2 if again else 1
    solver.parameters.cp_model_presolve = not again
    solver.parameters.catch_sigint_signal = False
    if linear:
        solver.parameters.linearization_level = 2
    if len(model.proto.variables) > MOST_SYMMETRIC:
        solver.parameters.symmetry_level = 0
    # Beyond 2**53 two objectives may be one double: the default gap of 1e-4 takes them for equal.
    solver.parameters.absolute_gap_limit = 0
    solver.parameters.max_deterministic_time = limit
    if watch.deadline is not None:
        solver.parameters.max_time_in_seconds = watch.seconds_left
    return solver


def hint(
    model: cp_model.CpModel, variables: Sequence[cp_model.IntVar], values: Sequence[int]
) -> None:
    """Replace the model's hint by ``values``."""
    model.clear_hints()  # type: ignore[no-untyped-call]
    for variable, value in zip(variables, values, strict=True):
        model.add_hint(variable, value)


def _run(
    solver: cp_model.CpSolver,
    model: cp_model.CpModel,
    watch: Watch,
    callback: cp_model.CpSolverSolutionCallback | None,
) -> int:
    """Solve in a thread of its own, so that an interrupt or a cancel is answered promptly.

    By default the solver takes over Ctrl-C and leaves the process with a handler that kills it at
    the next one; here the caller's own handler stays, and the search is told to stop.
    """
    outcome: list[int] = []
    failure: list[BaseException] = []
    begun, given_up, done = threading.Event(), threading.Event(), threading.Event()

    def work() -> None:
        begun.set()
        try:
            if not given_up.is_set():
                outcome.append(int(solver.solve(model, callback)))
        except BaseException as error:
            failure.append(error)
        finally:
            done.set()

    try:
        # An interrupt may come while the thread is being started, so that is tried too.
        threading.Thread(target=work, name="knobpack-solve", daemon=True).start()
        while not done.wait(_POLL):
            if watch.over():
                solver.stop_search()
    finally:
        given_up.set()
        _end(solver, begun, done)
    if failure:
        raise failure[0]
    return outcome[0]


def _end(solver: cp_model.CpSolver, begun: threading.Event, done: threading.Event) -> None:
    """See the search out: an interrupt that comes while it stops must not leave it running."""
    try:
        while begun.is_set() and not done.is_set():
            # A stop that comes before the search has begun is lost, so it is repeated.
            solver.stop_search()
            done.wait(_POLL)
    except KeyboardInterrupt:
        _end(solver, begun, done)
