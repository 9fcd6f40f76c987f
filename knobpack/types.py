"""The types that stand in signatures: what is one of a few, and what may be given for something.

For annotations; nothing here is needed to call anything. Words of JSON files are the same words.
"""

from __future__ import annotations

from typing import TypeAlias

from knobpack.errors import Stopped
from knobpack.facts import FactKind
from knobpack.positions.curves import Shape
from knobpack.records import Record
from knobpack.simulation.pickup import Behaviour
from knobpack.words.asked import Edit
from knobpack.words.demand import DemandKind
from knobpack.words.rules import Rule
from knobpack.words.sending import Turning
from knobpack.words.surface import Knob, SurfaceLimits, TravelOn
from knobpack.words.voice import Group, Voice

Member: TypeAlias = str | Voice | Group
"""What a rule, group or snapshot names: a voice or group, or a destination by its full name."""

Driven: TypeAlias = Member | Knob
"""What an edit names: a member, or a knob, which stands for what it drives."""

__all__ = [
    "Behaviour",
    "DemandKind",
    "Driven",
    "Edit",
    "FactKind",
    "Member",
    "Record",
    "Rule",
    "Shape",
    "Stopped",
    "SurfaceLimits",
    "TravelOn",
    "Turning",
]
