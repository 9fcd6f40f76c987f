"""The types that stand in signatures: what is one of a few, and what may be given for something.

For annotations; nothing here is needed to call anything. Words of JSON files are the same words.
"""

from __future__ import annotations

from typing import TypeAlias

from knobpack.allocation.records import Record
from knobpack.auditing.findings import Audit
from knobpack.clash import Clash
from knobpack.clash.every import EveryClash
from knobpack.combination.answer import Combination
from knobpack.edits.answer import Edited
from knobpack.errors import Stopped
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
from knobpack.midi import ControllerNumbers, Heard, Imported
from knobpack.midi.heeded import Heeded
from knobpack.midi.held_notes import Keys
from knobpack.midi.list_keys import Given
from knobpack.midi.sent import Numbers
from knobpack.midi.sweep_streams import Timing
from knobpack.positions.curves import Shape
from knobpack.reasons.bundle_changes import JoinedBundles, PartedBundle
from knobpack.reasons.facts import FactKind
from knobpack.sheets import PatchSheet
from knobpack.sheets.steps import Value
from knobpack.show import (
    OddSongs,
    ShowAllocation,
    ShowChange,
    ShowDifference,
    ShowThere,
    SongJumps,
    WorthFreeing,
)
from knobpack.simulation import Jump, Sweep
from knobpack.simulation.pickup import Behaviour
from knobpack.words.bundle import Bundle
from knobpack.words.demand import DemandKind
from knobpack.words.knob_settings import Turning
from knobpack.words.rules import Rule
from knobpack.words.setup_edits import Driven, Edit
from knobpack.words.surface import SurfaceLimits, TravelOn
from knobpack.words.voice import Member

Outcome: TypeAlias = (
    Here
    | NotThere
    | Shared
    | Unplaced
    | Budget
    | LeastKnobs
    | BestLayouts
    | Worths
    | Difference
    | Explanation
    | EveryClash
    | Clash
    | Audit
    | Combination
    | Edited
    | Sweep
    | PatchSheet
    | ControllerNumbers
    | Heard
    | Imported
    | ShowAllocation
    | ShowChange
    | ShowDifference
    | ShowThere
    | SongJumps
    | WorthFreeing
    | OddSongs
)
"""What a question is answered by, and what is worked out about setups."""

Written: TypeAlias = Outcome | tuple[Jump, ...]
"""What can be written beside words and allocations."""

__all__ = [
    "Behaviour",
    "Bundle",
    "DemandKind",
    "Driven",
    "Edit",
    "FactKind",
    "Given",
    "Heeded",
    "JoinedBundles",
    "Keys",
    "Member",
    "Numbers",
    "Outcome",
    "PartedBundle",
    "Record",
    "Rule",
    "Shape",
    "Stopped",
    "SurfaceLimits",
    "Timing",
    "TravelOn",
    "Turning",
    "Value",
    "Written",
]
