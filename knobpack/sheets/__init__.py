"""Patch sheet: the steps that turn one setup into another, to be read at the instrument."""

from knobpack.sheets.sheet import PatchSheet, patch_sheet
from knobpack.sheets.steps import Step

__all__ = ["PatchSheet", "Step", "patch_sheet"]
