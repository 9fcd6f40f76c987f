"""Patch sheet: the steps that turn one setup into another, to be read at the instrument."""

from knobpack.sheets.replay import in_order, replay
from knobpack.sheets.sheet import PatchSheet, patch_sheet
from knobpack.sheets.steps import Step

__all__ = ["PatchSheet", "Step", "in_order", "patch_sheet", "replay"]
