"""Asked: the questions about an allocation and about a request, as methods of it.

Each is the function of that name in :mod:`knobpack.questions`, where its answer is told in full.
The rooms that answer are loaded by the first question: nothing here imports them before.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from knobpack.effort import DEFAULT_EFFORT

if TYPE_CHECKING:
    from knobpack.allocation import Allocation, Tier
    from knobpack.clash.every import EveryClash
    from knobpack.explanation.best_layouts import BestLayouts
    from knobpack.explanation.budget_answer import Budget
    from knobpack.explanation.here import Here
    from knobpack.explanation.least import LeastKnobs
    from knobpack.explanation.not_there import NotThere
    from knobpack.explanation.shared import Shared
    from knobpack.explanation.unplaced import Unplaced
    from knobpack.explanation.what_if import Difference
    from knobpack.explanation.whole import Explanation
    from knobpack.explanation.worth import Worths
    from knobpack.limits import Limits
    from knobpack.words import Request, Travel


class AskedOfAllocation:
    """The questions about one allocation."""

    __slots__ = ()

    def why(self, destination: str, *, own: Travel | None = None) -> Here:
        """Why a destination is on the knob that it is on.

        Args:
            destination: its full name.
            own: of a setup in use, the travel that it wants by itself; None: it is not known.

        Returns:
            The reasons, as :func:`knobpack.questions.why_here` gives them.

        Raises:
            InputError: there is no such destination, it is left out, or ``own`` is no Travel.
        """
        from knobpack.explanation.here import why_here

        return why_here(self._allocation, destination, own=own)

    def why_not(
        self,
        destination: str,
        knob: str,
        *,
        solve: bool = False,
        effort: float = DEFAULT_EFFORT,
        limits: Limits | None = None,
    ) -> NotThere:
        """Why a destination is not on a knob.

        Args:
            destination: its full name.
            knob: the name of the knob.
            solve: whether to look for the best layout that has it there, which is solved anew.
            effort: deterministic effort after which that search stops, 0 to 10**9.
            limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

        Returns:
            What it would cost there or what forbids it, as :func:`knobpack.questions.why_not` says.

        Raises:
            InputError: there is no such destination or knob, it is there, ``solve`` is not true or
                false, or ``effort`` no number from 0 to 10**9, or ``limits`` no Limits.
            NoLayoutFound: the search was stopped before any layout was known.
        """
        from knobpack.explanation.not_there import why_not

        return why_not(
            self._allocation, destination, knob, solve=solve, effort=effort, limits=limits
        )

    def why_shared(
        self,
        knob: str,
        *,
        solve: bool = False,
        effort: float = DEFAULT_EFFORT,
        limits: Limits | None = None,
    ) -> Shared:
        """Why the destinations on a knob share it.

        Args:
            knob: a knob that carries two destinations or more.
            solve: whether to look for the best layout that parts them, which is solved anew.
            effort: deterministic effort after which each search stops, 0 to 10**9.
            limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

        Returns:
            The reasons, as :func:`knobpack.questions.why_shared` gives them.

        Raises:
            InputError: there is no such knob, nothing shares it, ``solve`` is not true or false, or
                ``effort`` no number from 0 to 10**9, or ``limits`` no Limits.
            NoLayoutFound: a search was stopped before any layout was known.
        """
        from knobpack.explanation.shared import why_shared

        return why_shared(self._allocation, knob, solve=solve, effort=effort, limits=limits)

    def why_unplaced(
        self,
        destination: str,
        *,
        solve: bool = True,
        effort: float = DEFAULT_EFFORT,
        limits: Limits | None = None,
    ) -> Unplaced:
        """Why a destination is left out, and what would place it.

        Args:
            destination: the full name of a destination that is left out.
            solve: whether to look for what would place it, which is solved anew.
            effort: deterministic effort after which that search stops, 0 to 10**9.
            limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

        Returns:
            The reasons and ways out, as :func:`knobpack.questions.why_unplaced` gives them.

        Raises:
            InputError: there is no such destination, it is placed, ``solve`` is not true or false,
                or ``effort`` no number from 0 to 10**9, or ``limits`` no Limits.
            NoLayoutFound: the search was stopped before any layout was known.
        """
        from knobpack.explanation.unplaced import why_unplaced

        return why_unplaced(
            self._allocation, destination, solve=solve, effort=effort, limits=limits
        )

    def knob_budget(
        self,
        *,
        effort: float = DEFAULT_EFFORT,
        each_knob: bool = False,
        limits: Limits | None = None,
    ) -> Budget:
        """What other numbers of knobs would cost, for each family and for the whole surface.

        Args:
            effort: deterministic effort after which each search stops, 0 to 10**9.
            each_knob: whether to tell also what it would cost to give up each single knob.
            limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

        Returns:
            The budget, as :func:`knobpack.questions.knob_budget` gives it.

        Raises:
            InputError: ``effort`` is no number from 0 to 10**9, or ``each_knob`` not true or false,
                or ``limits`` no Limits.
        """
        from knobpack.explanation.budget import knob_budget

        return knob_budget(self._allocation, effort=effort, limits=limits, each_knob=each_knob)

    def best_layouts(
        self,
        *,
        most: int = 100,
        places: bool = False,
        effort: float = DEFAULT_EFFORT,
        limits: Limits | None = None,
    ) -> BestLayouts:
        """The other ways to share the knobs that are as good.

        Args:
            most: how many to find, at most, 1 to 10,000.
            places: whether to tell also on which knobs each destination can be.
            effort: deterministic effort after which the search stops, 0 to 10**9.
            limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

        Returns:
            The ways, as :func:`knobpack.questions.best_layouts` gives them.

        Raises:
            InputError: an argument is not what it must be, or ``limits`` no Limits.
        """
        from knobpack.explanation.best_layouts import best_layouts

        return best_layouts(
            self._allocation, most=most, places=places, effort=effort, limits=limits
        )

    def what_if(
        self,
        request: Request,
        *,
        stay_close: bool = False,
        effort: float = DEFAULT_EFFORT,
        limits: Limits | None = None,
    ) -> Difference:
        """What another request would change.

        Args:
            request: the other request.
            stay_close: whether its layout is to stay as close to this one as it can.
            effort: deterministic effort after which the search stops, 0 to 10**9.
            limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

        Returns:
            The difference, as :func:`knobpack.questions.what_if` gives it.

        Raises:
            InputError: ``request`` is no Request, ``stay_close`` not true or false, or ``effort``
                no number from 0 to 10**9, or ``limits`` no Limits.
            NoLayoutFound: the search was stopped before any layout was known.
        """
        from knobpack.explanation.what_if import what_if

        return what_if(
            self._allocation, request, stay_close=stay_close, effort=effort, limits=limits
        )

    def price_of_demands(
        self, *, effort: float = DEFAULT_EFFORT, limits: Limits | None = None
    ) -> Worths:
        """What each rule, snapshot, kept route and limit costs: each is dropped and all solved.

        Args:
            effort: deterministic effort after which each search stops, 0 to 10**9.
            limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

        Returns:
            The prices, as :func:`knobpack.questions.price_of_demands` gives them.

        Raises:
            InputError: ``effort`` is no number from 0 to 10**9, or ``limits`` no Limits.
        """
        from knobpack.explanation.worth import price_of_demands

        return price_of_demands(self._allocation, effort=effort, limits=limits)

    def explain(
        self, *, solve: bool = False, effort: float = DEFAULT_EFFORT, limits: Limits | None = None
    ) -> Explanation:
        """Every question about it, answered.

        Args:
            solve: whether to answer also what takes solving again.
            effort: deterministic effort after which each search stops, 0 to 10**9.
            limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

        Returns:
            The answers, as :func:`knobpack.questions.explain` gives them.

        Raises:
            InputError: ``solve`` is not true or false, or ``effort`` no number from 0 to 10**9, or
                ``limits`` no Limits.
        """
        from knobpack.explanation.whole import explain

        return explain(self._allocation, solve=solve, effort=effort, limits=limits)

    @property
    def _allocation(self) -> Allocation:
        return cast("Allocation", self)


class AskedOfRequest:
    """The questions about one request."""

    __slots__ = ()

    def least_knobs(
        self, *, effort: float = DEFAULT_EFFORT, limits: Limits | None = None
    ) -> LeastKnobs:
        """On how few knobs every destination can be placed with full independence.

        Args:
            effort: deterministic effort after which the search stops, 0 to 10**9.
            limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

        Returns:
            The number and why it is no less, as :func:`knobpack.questions.least_knobs` gives it.

        Raises:
            InputError: ``effort`` is no number from 0 to 10**9, or ``limits`` no Limits.
            ImpossibleDemands: that can be had on no number of knobs.
            NoLayoutFound: the search for what clashes was stopped before it knew.
        """
        from knobpack.explanation.least import least_knobs

        return least_knobs(self._request, effort=effort, limits=limits)

    def fewest_knobs(self, *, effort: float = DEFAULT_EFFORT, limits: Limits | None = None) -> Tier:
        """The fewest knobs on which every destination can be placed with every demand met.

        Args:
            effort: deterministic effort after which the search stops, 0 to 10**9.
            limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

        Returns:
            How many, with its bound, as :func:`knobpack.questions.fewest_knobs` gives it.

        Raises:
            InputError: ``effort`` is no number from 0 to 10**9, or ``limits`` no Limits.
            ImpossibleDemands: no number of knobs is enough.
            NoLayoutFound: the search for what clashes was stopped before it knew.
        """
        from knobpack.allocator import fewest_knobs

        return fewest_knobs(self._request, effort=effort, limits=limits)

    def every_clash(
        self, *, most: int = 100, effort: float = DEFAULT_EFFORT, limits: Limits | None = None
    ) -> EveryClash:
        """All minimal sets of demands that clash, and all minimal ways out.

        Args:
            most: how many of each to find, at most, 1 or more.
            effort: deterministic effort after which the search stops, 0 to 10**9.
            limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

        Returns:
            The clashes, as :func:`knobpack.questions.every_clash` gives them.

        Raises:
            InputError: an argument is not what it must be.
        """
        from knobpack.clash.every import every_clash

        return every_clash(self._request, most=most, effort=effort, limits=limits)

    @property
    def _request(self) -> Request:
        return cast("Request", self)
