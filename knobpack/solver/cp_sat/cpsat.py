"""The one place that runs CP-SAT: one worker, a fixed seed, exact readings, prompt stops."""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Iterable
from enum import Enum
from functools import partial

import attrs
from ortools.sat.python import cp_model_helper as compiled

from knobpack.errors import Fault
from knobpack.solver.cp_sat.cp_model import CpModel, IntVar, LinearExprT
from knobpack.solver.watch import EFFORT, Watch

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
        solution: the value of each variable of the model there.
    """

    status: Status
    bound: int | None
    value: Callable[[LinearExprT], int] | None
    solution: tuple[int, ...] = ()

    @property
    def found(self) -> bool:
        """Whether there is a solution to read."""
        return self.value is not None


class _Enough(compiled.SolutionCallback):
    """Stops the search once a solution is known to be as good as any."""

    def __init__(self, enough: int) -> None:
        super().__init__()
        self._enough = enough
        self.reached = False

    def OnSolutionCallback(self) -> None:  # noqa: N802 - the solver calls it by this name
        """Look at a solution that was found."""
        if round(self.ObjectiveValue()) <= self._enough:
            self.reached = True
            self.StopSearch()


def solve(
    model: CpModel,
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
    model: CpModel,
    watch: Watch,
    effort: float,
    enough: int | None,
    *,
    linear: bool,
    again: bool = False,
) -> Answer:
    """Run CP-SAT once; ``again``: without presolve and from another seed."""
    if effort <= 0 or watch.over():  # a search may take more than its share of what is left
        return Answer(Status.UNKNOWN, None, None)
    limit, all_of_it = min(effort, watch.effort), effort >= watch.effort
    callback = None if enough is None else _Enough(enough)
    parameters = _parameters(model, watch, limit, linear=linear, again=again)
    response = _run(model, parameters, watch, callback)
    spent, status = response.deterministic_time, response.status
    watch.spend(spent)
    if status == compiled.MODEL_INVALID:
        wrong = compiled.CpSatHelper.validate_model(model.model_proto)
        raise Fault(f"knobpack built a model that is not valid: {wrong}")
    if status == compiled.INFEASIBLE:
        return Answer(Status.IMPOSSIBLE, None, None)
    bound = _bound(model, response)
    # On UNKNOWN values may stand there though nothing was found.
    value = partial(compiled.ResponseHelper.value, response) if response.solution else None
    if status == compiled.OPTIMAL:
        return Answer(Status.OPTIMAL, bound, value, tuple(response.solution))
    reached = callback is not None and callback.reached
    early = spent < limit * _SPENT and not reached
    if all_of_it and not early and not reached:
        watch.short = EFFORT
    if not watch.over() and watch.deadline is not None and early:
        # On a busy machine the solver gives up ahead of its time, lest it overrun it.
        watch.stopped = watch.clock
    known = Status.FEASIBLE if status == compiled.FEASIBLE else Status.UNKNOWN
    return Answer(known, bound, value, tuple(response.solution) if value else ())


def _bound(model: CpModel, response: compiled.CpSolverResponse) -> int | None:
    """What no solution goes below, as the solver counts it: in whole numbers, less the constant.

    A run that ended before it knew any says 0, as if that were one; so 0 is believed only beside a
    solution, and no bound is unless the one that is told as a double says the same.
    """
    if not model.has_objective() or not (response.solution or response.best_objective_bound):
        return None
    whole = response.inner_objective_lower_bound + int(model.model_proto.objective.offset)
    same = math.isclose(whole, response.best_objective_bound, rel_tol=1e-9, abs_tol=1e-5)
    return whole if same else None


def _parameters(
    model: CpModel, watch: Watch, limit: float, *, linear: bool, again: bool
) -> compiled.SatParameters:
    """What the solver is told for one run."""
    parameters = compiled.SatParameters()
    parameters.num_workers = 1
    parameters.random_seed = 2 if again else 1
    parameters.cp_model_presolve = not again
    parameters.catch_sigint_signal = False
    if linear:
        parameters.linearization_level = 2
    if len(model.model_proto.variables) > MOST_SYMMETRIC:
        parameters.symmetry_level = 0
    # Beyond 2**53 two objectives may be one double: the default gap of 1e-4 takes them for equal.
    parameters.absolute_gap_limit = 0
    parameters.max_deterministic_time = limit
    if watch.deadline is not None:
        parameters.max_time_in_seconds = watch.seconds_left
    return parameters


def hint(model: CpModel, variables: Iterable[IntVar], values: Iterable[int]) -> None:
    """Replace the model's hint by ``values``."""
    proto = model.model_proto
    proto.clear_solution_hint()
    proto.solution_hint.vars.extend([variable.index for variable in variables])
    proto.solution_hint.values.extend(list(values))


def _run(
    model: CpModel,
    parameters: compiled.SatParameters,
    watch: Watch,
    callback: compiled.SolutionCallback | None,
) -> compiled.CpSolverResponse:
    """Solve in a thread of its own, so that an interrupt or a cancel is answered promptly.

    By default the solver takes over Ctrl-C and leaves the process with a handler that kills it at
    the next one; here the caller's own handler stays, and the search is told to stop.
    """
    run = compiled.SolveWrapper()
    run.set_parameters(parameters)
    if callback is not None:
        run.add_solution_callback(callback)
    outcome: list[compiled.CpSolverResponse] = []
    failure: list[BaseException] = []
    begun, given_up, done = threading.Event(), threading.Event(), threading.Event()

    def work() -> None:
        begun.set()
        try:
            if not given_up.is_set():
                outcome.append(run.solve(model.model_proto))  # type: ignore[no-untyped-call]
        except BaseException as error:
            failure.append(error)
        finally:
            done.set()

    try:
        # An interrupt may come while the thread is being started, so that is tried too.
        threading.Thread(target=work, name="knobpack-solve", daemon=True).start()
        while not done.wait(_POLL) and not watch.over():
            pass
    finally:
        given_up.set()
        _end(run, begun, done)
    if failure:
        raise failure[0]
    return outcome[0]


def _end(run: compiled.SolveWrapper, begun: threading.Event, done: threading.Event) -> None:
    """See the search out: an interrupt that comes while it stops must not leave it running."""
    try:
        run.stop_search()  # heard by a search that has not begun as well
        while begun.is_set() and not done.wait(_POLL):
            pass
    except KeyboardInterrupt:
        _end(run, begun, done)
