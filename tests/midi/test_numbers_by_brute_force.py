"""What is chosen for a few knobs, against brute force over all choices."""

from __future__ import annotations

from collections import Counter
from typing import Any

from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from knobpack.midi import Listening, Sent
from knobpack.midi import controller_numbers as numbers_of
from knobpack.midi.sent import MASTER
from knobpack.words import KnobSending, Setup
from tests.midi.every_choice import TIERS, Case, Knob, choices, least, price
from tests.midi.numbered_setups import earlier, on_channels, sending, setup
from tests.oracles.amount import EXAMPLES

USABLE = [*range(1, 6), *range(7, 32), *range(64, 96), *range(102, 120)]
# Few numbers, and neighbours among them, so that every rule gets to matter.
NUMBERS = st.one_of(
    st.sampled_from([1, 2, 14, 15, 16, 64, 71, 80, 81, 102]), st.sampled_from(USABLE)
)
PAIRS = st.tuples(st.integers(0, 1), st.integers(0, 2))
Asked = tuple[Setup, dict[str, Any], Case]


@st.composite
def cases(draw: DrawFn) -> Asked:
    """A setup, what is asked besides, and the same in plain values for brute force."""
    count = draw(st.integers(1, 4))
    channel = draw(st.none() | st.integers(1, 2))
    channel_of = {voice: draw(st.integers(1, 2)) for voice in ("Pad", "Bass")}
    driving = st.lists(
        st.tuples(st.sampled_from(sorted(channel_of)), st.integers(1, 5)), max_size=2
    )
    drives = {f"K{number}": draw(driving) for number in range(1, count + 1)}
    on = {
        knob: frozenset({channel} if channel else {channel_of[voice] for voice, _ in driven} or {1})
        for knob, driven in drives.items()
    }
    allowed = draw(st.lists(NUMBERS, max_size=6, unique=True))
    heard = draw(st.lists(st.integers(0, 127) | NUMBERS, max_size=3, unique=True))
    listening = [Listening("Lead", draw(st.integers(1, 2)), heard)]
    parameters = draw(st.lists(PAIRS, max_size=2, unique=True))
    fine = draw(st.booleans())
    own = draw(_sending([knob for knob in drives if len(on[knob]) == 1], allowed))
    before = draw(_before([*drives, MASTER], [*allowed, 7], [*parameters, (5, 5)]))
    kept = {
        "channel": channel,
        "listening": listening,
        "fine": fine,
        "allowed": allowed,
        "parameters": parameters,
        "previous": earlier({k: _sent(each) for k, each in before.items()}) if before else None,
    }
    made = on_channels(setup(drives, panel=count, bits=10), **channel_of)
    made = sending(made, *(KnobSending(*each) for each in own.items()))
    knobs = [
        Knob(
            on[knob],
            6 - min((priority for _, priority in driven), default=5),
            fine and knob not in own,
            own.get(knob),
            before.get(knob, ...),
        )
        for knob, driven in drives.items()
        if driven or knob in own
    ]
    lowest = channel or min((each for knob in knobs for each in knob.channels), default=1)
    knobs.append(Knob(frozenset({lowest}), 6, fine, None, before.get(MASTER, ...)))
    there = {listening[0].channel: frozenset(heard)}
    return made, kept, Case(tuple(knobs), frozenset(allowed), there, tuple(parameters))


@st.composite
def _sending(draw: DrawFn, able: list[str], allowed: list[int]) -> dict[str, int]:
    """What some knobs really send, no two the same."""
    if not allowed or not able or not draw(st.booleans()):
        return {}
    who = draw(st.lists(st.sampled_from(able), max_size=2, unique=True))
    numbers = draw(st.lists(st.sampled_from(allowed), max_size=2, unique=True))
    return dict(zip(who, numbers, strict=False))


@st.composite
def _before(
    draw: DrawFn, who: list[str], numbers: list[int], parameters: list[tuple[int, int]]
) -> dict[str, object]:
    """What some were sent on before: a number, a parameter, or nothing."""
    if not draw(st.booleans()):
        return {}
    known = draw(st.lists(st.sampled_from(who), unique=True))
    what = st.one_of(st.sampled_from(numbers), st.sampled_from(parameters), st.none())
    return {knob: draw(what) for knob in known}


def _sent(sent: object) -> Sent:
    if isinstance(sent, tuple):
        return Sent(parameter=sent)
    return Sent(sent if isinstance(sent, int) else None)


@settings(max_examples=EXAMPLES // 3)
@given(cases())
def test_what_is_chosen_is_as_good_as_brute_force_finds(drawn: Asked) -> None:
    made, asked, case = drawn
    found = numbers_of(made, **asked)
    best = least(case)
    # What was found is one of the choices that break no rule, and costs what it says.
    choice = tuple(each.sent.parameter or each.sent.number for each in found.knobs)
    assert choice in set(choices(case))
    assert price(case, choice) == best
    for knob, each in zip(case.knobs, found.knobs, strict=True):
        number = each.sent.number
        pair = knob.fine and number is not None and number < 32
        assert each.sent.low == (number + 32 if pair and number is not None else None)
        assert frozenset(each.channels) == knob.channels


def test_every_tier_matters_and_every_feature_occurs() -> None:
    seen: Counter[str] = Counter()

    @settings(max_examples=300, phases=[Phase.generate])
    @given(cases())
    def draw(drawn: Asked) -> None:
        _, asked, case = drawn
        prices = {price(case, choice) for choice in choices(case)}
        best = min(prices)
        for tier, (name, value) in enumerate(zip(TIERS, best, strict=True)):
            seen[name] += value > 0
            # A tier decides something where choices as good in all tiers before differ in it.
            alike = {each[tier] for each in prices if each[:tier] == best[:tier]}
            seen[f"decided by {name}"] += len(alike) > 1
        seen.update(name for name in ("fine", "parameters") if asked[name])
        seen["sending"] += any(knob.asked is not None for knob in case.knobs)
        seen["previous"] += asked["previous"] is not None
        seen["several channels"] += len({knob.channels for knob in case.knobs}) > 1
        seen["cannot be sent"] += any(len(knob.channels) > 1 for knob in case.knobs)

    draw()
    wanted = [*TIERS, *(f"decided by {tier}" for tier in TIERS)]
    wanted += ["sending", "previous", "several channels", "cannot be sent"]
    assert [name for name in wanted if seen[name] < 5] == []
