"""The types that stand in signatures: what is one of a few, and what may be given for something.

For annotations; nothing here is needed to call anything. Words of JSON files are the same words.
"""

from __future__ import annotations

from typing import ClassVar, Protocol, TypeAlias

from knobpack.allocation.records import Record
from knobpack.errors import Stopped
from knobpack.midi.heeded import Heeded
from knobpack.midi.list_keys import Given
from knobpack.midi.sent import Numbers
from knobpack.midi.sweep_streams import Timing
from knobpack.positions.curves import Shape
from knobpack.reasons.bundle_changes import JoinedBundles, PartedBundle
from knobpack.reasons.facts import FactKind
from knobpack.sheets.steps import Value
from knobpack.simulation import Jump
from knobpack.words.bundle import Bundle
from knobpack.words.demand import DemandKind
from knobpack.words.knob_settings import Turning
from knobpack.words.rule_effects import Named, RuleEffect
from knobpack.words.rules import Rule
from knobpack.words.setup_edits import Driven, Edit
from knobpack.words.surface import SurfaceLimits, TravelOn
from knobpack.words.voice import Member


class Outcome(Protocol):
    """What a question is answered by, and what is worked out about setups."""

    question: ClassVar[str]

    @property
    def sentences(self) -> tuple[str, ...]:
        """It in plain sentences, what matters most first."""


Written: TypeAlias = Outcome | tuple[Jump, ...]
"""What can be written beside words and allocations."""

__all__ = [
    "Bundle",
    "DemandKind",
    "Driven",
    "Edit",
    "FactKind",
    "Given",
    "Heeded",
    "JoinedBundles",
    "Member",
    "Named",
    "Numbers",
    "Outcome",
    "PartedBundle",
    "Record",
    "Rule",
    "RuleEffect",
    "Shape",
    "Stopped",
    "SurfaceLimits",
    "Timing",
    "TravelOn",
    "Turning",
    "Value",
    "Written",
]
