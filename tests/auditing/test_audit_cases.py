"""Each fault alone, in a setup made by hand: what is said of it, and that mending it clears it.

What counts as a fault is common practice of playing layered setups, no source; priorities and the
words for travels are those of the package.
"""

from __future__ import annotations

import attrs
import pytest

from knobpack.auditing import causes
from knobpack.auditing.audit import audit
from knobpack.words import Destination, KnobTravel, Route, Setup, Surface, Travel, Voice
from tests.auditing.cases_of_panels import PANEL_CASES
from tests.auditing.cases_of_routes import ROUTE_CASES
from tests.auditing.cases_of_snapshots import SNAPSHOT_CASES
from tests.auditing.clean import CLEAN, Case
from tests.oracles.audit import untrue

CASES = (*ROUTE_CASES, *SNAPSHOT_CASES, *PANEL_CASES)
NAMED = [pytest.param(case, id=f"{number} {case.cause}") for number, case in enumerate(CASES)]


def test_a_setup_without_fault_is_clean() -> None:
    answer = audit(CLEAN)
    assert answer.findings == ()
    assert answer.clean
    assert answer.live == ("K1", "K2", "K3")
    assert answer.dead == ()
    assert answer.sentences == (
        "In 'Stage' 3 of 3 knobs do something (K1, K2 and K3); nothing needs mending.",
    )
    bass = answer.by_knob[2]
    assert bass.driven == bass.carries == ("Bass/cutoff",)
    assert bass.travel == Travel(0, 64)
    assert bass.follows == ("all", "bass alone")
    assert bass.why_dead == ()


def test_every_cause_has_a_case_and_a_severity() -> None:
    assert {case.cause for case in CASES} == set(causes.CAUSES)
    assert set(causes.SEVERITY.values()) == set(causes.SEVERITIES)
    assert set(causes.WHY_DEAD) <= set(causes.CAUSES)


@pytest.mark.parametrize("case", NAMED)
def test_a_fault_is_found_alone_and_told(case: Case) -> None:
    answer = audit(case.setup)
    found = {finding.cause: finding for finding in answer.findings}
    assert sorted(found) == sorted((case.cause, *case.beside))
    assert len(answer.findings) == len(found)
    assert str(found[case.cause]) == case.sentence
    assert case.sentence in answer.sentences
    assert answer.dead == case.dead
    assert answer.clean == set(causes.UNUSED).issuperset(found)
    allowed = case.cause == causes.TORN and case.sentence.startswith("Doubtful")
    severity = causes.DOUBTFUL if allowed else causes.SEVERITY[case.cause]
    assert found[case.cause].severity == severity
    assert untrue(case.setup, answer) == []


@pytest.mark.parametrize("case", NAMED)
def test_a_fault_is_gone_once_it_is_mended_as_told(case: Case) -> None:
    for mended in case.mends:
        answer = audit(mended)
        assert [finding.cause for finding in answer.findings] == list(case.beside)


@pytest.mark.parametrize("cause", causes.WHY_DEAD)
def test_a_dead_knob_says_why(cause: str) -> None:
    case = next(case for case in CASES if case.cause == cause and case.dead)
    (knob,) = case.dead
    use = next(use for use in audit(case.setup).by_knob if use.knob == knob)
    assert use.why_dead == (cause,)
    assert use.driven == ()
    assert not use.live


def test_a_reserved_knob_is_dead_but_no_fault() -> None:
    answer = audit(attrs.evolve(CLEAN, surface=Surface.row(4, reserved=("K4",))))
    assert answer.findings == ()
    assert answer.dead == ("K4",)
    assert answer.by_knob[3].why_dead == (causes.NO_ROUTE,)


def test_without_snapshots_everything_movable_moves_and_that_is_said() -> None:
    answer = audit(attrs.evolve(CLEAN, snapshots=()))
    assert answer.assumed
    assert answer.live == ("K1", "K2", "K3")
    assert answer.by_knob[0].follows == ("everything",)
    assert answer.sentences[1] == (
        "No snapshot is stored: this is read as if the master moved everything that is movable."
    )


def test_a_setup_of_nothing_is_audited() -> None:
    answer = audit(Setup("Empty", Surface.row(0)))
    assert answer.clean
    assert answer.sentences[0] == "In 'Empty' 0 of 0 knobs do something; nothing needs mending."


def test_free_knobs_are_told_in_one_sentence() -> None:
    answer = audit(attrs.evolve(CLEAN, surface=Surface.row(6)))
    assert [finding.knobs for finding in answer.findings] == [("K4",), ("K5",), ("K6",)]
    assert answer.clean
    assert "\n".join(answer.sentences[1:]) == (
        "Free: no route leads from K4, K5 and K6; route a destination to each, or reserve what is "
        "to stay free."
    )


def test_the_worst_comes_first_then_the_panel_decides() -> None:
    setup = attrs.evolve(
        CLEAN,
        surface=Surface.row(4),
        voices=(*CLEAN.voices, Voice("Lead", (Destination("pan"),), layer=2)),
        travels=(KnobTravel("K2", Travel(5, 5)), KnobTravel("K1", Travel(7, 7))),
    )
    answer = audit(setup)
    told = [(finding.severity, finding.cause, finding.knobs) for finding in answer.findings]
    assert told == [
        (causes.WRONG, causes.SHARED_LAYER, ()),
        (causes.DOUBTFUL, causes.IDENTICAL, ("K3",)),
        (causes.DEAD, causes.EMPTY_TRAVEL, ("K1",)),
        (causes.DEAD, causes.EMPTY_TRAVEL, ("K2",)),
        (causes.DEAD, causes.NO_ROUTE, ("K4",)),
        (causes.DEAD, causes.SILENT, ()),
        (causes.DEAD, causes.UNREACHED, ()),
    ]


def test_a_name_that_comes_close_is_told() -> None:
    pad = Voice("Pad", (Destination("reverb"), Destination("level")), 1)
    slip = Setup("Late", Surface.row(1), (pad,), routes=(Route("Pad/revreb", "K1"),))
    assert "take the route away; close to it: Pad/reverb." in str(audit(slip))
    voice = attrs.evolve(slip, routes=(Route("Pda/level", "K1"),))
    assert "take the route away; close to it: Pad/level." in str(audit(voice))


def test_voices_at_one_layer_that_are_named_nearly_alike_may_be_one() -> None:
    grand, other = (Voice(name, (Destination("level"),), 1) for name in ("Grand", "Grnd"))
    told = str(audit(Setup("Late", Surface.row(1), (grand, other))))
    assert "put 'Grnd' at layer 2; or is 'Grnd' a slip for 'Grand'? then call both alike." in told
    far = attrs.evolve(other, name="Bass")
    assert "slip" not in str(audit(Setup("Late", Surface.row(1), (grand, far))))
