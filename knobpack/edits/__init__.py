"""Edits: a setup that is in use with one thing otherwise, and the least that moves for it."""

from knobpack.edits.answer import Edited
from knobpack.edits.edit import edit
from knobpack.edits.other_panel import move_home, move_to_panel
from knobpack.edits.taken_back import take_back
from knobpack.words.setup_edits import (
    Away,
    BackInUse,
    Join,
    OneMore,
    OnKnob,
    OutOfUse,
    OwnKnob,
    Part,
    Swap,
)

__all__ = [
    "Away",
    "BackInUse",
    "Edited",
    "Join",
    "OnKnob",
    "OneMore",
    "OutOfUse",
    "OwnKnob",
    "Part",
    "Swap",
    "edit",
    "move_home",
    "move_to_panel",
    "take_back",
]
