"""The model of one channel: CP-SAT chooses the numbers, one tier after the other.

Knobs of the same standing, and alike in whether they are to send 14 bits, may change places at no
cost in any tier but *order*. A variable for each knob and number would leave the solver all those
places to go through: so it took 16 seconds to prove 8 knobs, and did not prove 16 in 26. Therefore
the model counts what the knobs of each class get, and says of each number whether a knob that keeps
it is on it, or one of those that are to send 14 bits, or another: a tenth of a second for 64 knobs.
For the tier *order*, :class:`knobpack.controllers.arrangement.Arrangement` adds a variable for each
knob and number that can still matter.
"""

from __future__ import annotations

from collections import Counter

import attrs
from ortools.sat.python import cp_model

from knobpack.controllers.burden import BURDENS
from knobpack.controllers.table import HALF
from knobpack.controllers.wanted import Want, Wanted
from knobpack.solver.cpsat import Answer, Status, solve
from knobpack.solver.watch import Watch

Linear = cp_model.LinearExprT
sum_of = cp_model.LinearExpr.sum
weighted = cp_model.LinearExpr.weighted_sum


@attrs.frozen(eq=False)
class Got:
    """What the knobs of one class got: how many a controller, a parameter, and nothing."""

    controllers: cp_model.IntVar
    parameters: cp_model.IntVar
    left: cp_model.IntVar


Class = tuple[int, bool]
"""The standing of a knob, and whether it is to send 14 bits."""


def class_of(want: Want) -> Class:
    """The class of a knob."""
    return want.standing, want.fine


class ChannelModel:
    """The model over what is sent on one channel. Tiers are made best, and held, in order.

    Args:
        wanted: what is asked on this channel alone.
        channel: the channel.
    """

    def __init__(self, wanted: Wanted, channel: int) -> None:
        self.wants, self.numbers = wanted.wants, wanted.open(channel)
        self.model = cp_model.CpModel()
        self._never = self.model.new_constant(0)
        self.asked = {w.deliberate: w for w in self.wants if w.deliberate is not None}
        self.free = tuple(w for w in self.wants if w.deliberate is None)
        self.got = self._classes(len(wanted.parameters))
        self.keeps = self._keep_numbers()
        self.keepers = self._by_number()
        self.keeps_parameter = self._keep_parameters(frozenset(wanted.parameters))
        self.stays_left = self._stay_left()
        self.on = {
            fine: {n: self.model.new_bool_var("") for n in self.numbers} for fine in (False, True)
        }
        self._share_out()
        self.used = self._use()
        self._starts = self._begin()

    def _classes(self, parameters: int) -> dict[Class, Got]:
        """Each knob of a class gets one of the three."""
        found = {}
        for kind, size in Counter(map(class_of, self.free)).items():
            got = Got(*(self.model.new_int_var(0, size, "") for _ in range(3)))
            self.model.add(got.controllers + got.parameters + got.left == size)
            found[kind] = got
        self.model.add(sum_of([got.parameters for got in found.values()]) <= parameters)
        return found

    def _keep_numbers(self) -> dict[str, cp_model.IntVar]:
        """Whether each keeps the number that it had."""
        return {
            want.who: self.model.new_bool_var("")
            for want in self.free
            if want.before is not None and want.before.number in self.numbers
        }

    def _by_number(self) -> dict[int, list[Want]]:
        """The knobs that may keep each number."""
        found: dict[int, list[Want]] = {}
        for want in self.free:
            before = None if want.before is None else want.before.number
            if want.who in self.keeps and before is not None:
                found.setdefault(before, []).append(want)
        return found

    def _keep_parameters(self, offered: frozenset[tuple[int, int]]) -> dict[str, cp_model.IntVar]:
        """Whether each keeps the parameter that it had; of several that had one, one may."""
        found: dict[str, cp_model.IntVar] = {}
        rivals: dict[tuple[int, int], list[cp_model.IntVar]] = {}
        for want in self.free:
            before = None if want.before is None else want.before.parameter
            if before in offered:
                found[want.who] = self.model.new_bool_var("")
                rivals.setdefault(before, []).append(found[want.who])
        for each in rivals.values():
            self.model.add_at_most_one(each)
        return found

    def _stay_left(self) -> dict[Class, cp_model.IntVar]:
        """How many of each class had nothing and have nothing again."""
        had_nothing = Counter(class_of(want) for want in self.free if was_left(want))
        return {kind: self.model.new_int_var(0, size, "") for kind, size in had_nothing.items()}

    def _share_out(self) -> None:
        """What is kept is part of what the class got; each number goes to one knob."""
        members: dict[Class, list[str]] = {}
        for want in self.free:
            members.setdefault(class_of(want), []).append(want.who)
        for kind, got in self.got.items():
            kept = [self.keeps[who] for who in members[kind] if who in self.keeps]
            self.model.add(sum_of(kept) <= got.controllers)
            kept = [v for who, v in self.keeps_parameter.items() if who in members[kind]]
            self.model.add(sum_of(kept) <= got.parameters)
            if kind in self.stays_left:
                self.model.add(self.stays_left[kind] <= got.left)
        for fine, on in self.on.items():
            kept = [self.keeps[w.who] for w in self.free if w.fine == fine and w.who in self.keeps]
            got_so = [got.controllers for (_, precise), got in self.got.items() if precise == fine]
            self.model.add(sum_of([*on.values(), *kept]) == sum_of(got_so))

    def _use(self) -> dict[int, cp_model.IntVar]:
        """Whether each number is used, by whomever."""
        found = {number: self.model.new_bool_var("") for number in self.numbers}
        for number, used in found.items():
            by = [self.on[False][number], self.on[True][number]]
            by += [self.keeps[w.who] for w in self.keepers.get(number, ())]
            self.model.add(sum_of(by) == used)
        # Implied by the rest, but not without a case for each way to give the numbers out: there
        # are no more controllers, and no more pairs, than numbers.
        total = sum_of(list(found.values()))
        self.model.add(sum_of([got.controllers for got in self.got.values()]) == total)
        self.model.add(total <= len(found))
        return found | {number: self.model.new_constant(1) for number in self.asked}

    def _begin(self) -> list[cp_model.IntVar]:
        """Whether a run of neighbouring numbers begins at each number."""
        begins = {number: self.model.new_bool_var("") for number in self.used}
        for number, used in self.used.items():
            before = self.used.get(number - 1, self._never)
            self.model.add(begins[number] >= used - before)
        return list(begins.values())

    def best(self, tier: int, watch: Watch) -> Answer:
        """Make one tier best, those before being held."""
        self.model.minimize(self.cost(tier))
        return solve(self.model, watch, enough=0)

    def hold(self, tier: int, value: int) -> None:
        """From now on the value of ``tier`` is no worse than ``value``."""
        self.model.add(self.cost(tier) <= value)

    def matter(self, numbers: frozenset[int], watch: Watch) -> frozenset[int]:
        """The numbers that are used in any choice as good as this in all tiers that are held.

        Args:
            numbers: those that are used in one such choice.
            watch: what may stop the search; all are then taken to matter.
        """
        self.model.clear_objective()  # type: ignore[no-untyped-call]
        known = numbers
        while True:
            rest = [used for number, used in self.used.items() if number not in known]
            searched = self.model.clone()
            searched.add_bool_or(rest)
            answer = solve(searched, watch)
            if answer.status is Status.IMPOSSIBLE:
                return known
            if answer.value is None:
                return frozenset(self.used)
            known |= {number for number, used in self.used.items() if answer.value(used)}

    def cost(self, tier: int) -> Linear:
        """The value of a tier but *order*, as an expression."""
        return (
            self._left,
            self._parameters,
            self._priority,
            self._fine,
            self._changes,
            self._meaning,
            self._runs,
            self._low,
        )[tier]()

    def _left(self) -> Linear:
        return sum_of([got.left for got in self.got.values()])

    def _parameters(self) -> Linear:
        return sum_of([got.parameters for got in self.got.values()])

    def _priority(self) -> Linear:
        counts = [count for got in self.got.values() for count in (got.left, got.parameters)]
        return weighted(counts, [n * standing for standing, _ in self.got for n in (2, 1)])

    def _fine(self) -> Linear:
        """Those that are to send 14 bits, less those that have a pair or a parameter."""
        pairs = [used for number, used in self.on[True].items() if number < HALF]
        for number in self.numbers:
            if number < HALF:
                pairs += [
                    self.keeps[want.who] for want in self.keepers.get(number, ()) if want.fine
                ]
        parameters = [got.parameters for (_, fine), got in self.got.items() if fine]
        asked = sum(want.fine and number < HALF for number, want in self.asked.items())
        fine = sum(want.fine for want in self.wants)
        return fine - asked - sum_of([*pairs, *parameters])

    def _changes(self) -> Linear:
        """Those that were sent on something, less those that keep it."""
        known = sum(want.before is not None for want in self.wants)
        asked = sum(
            want.before is not None and want.before.number == number
            for number, want in self.asked.items()
        )
        kept = [*self.keeps.values(), *self.keeps_parameter.values(), *self.stays_left.values()]
        return known - asked - sum_of(kept)

    def _meaning(self) -> Linear:
        return weighted(list(self.used.values()), [BURDENS[number] for number in self.used])

    def _runs(self) -> Linear:
        return sum_of(self._starts)

    def _low(self) -> Linear:
        return weighted(list(self.used.values()), list(self.used))


def was_left(want: Want) -> bool:
    """Whether a knob is known to have had nothing."""
    return want.before is not None and not want.before.bits
