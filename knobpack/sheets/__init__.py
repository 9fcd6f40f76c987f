"""Patch sheet: the steps that turn one setup into another, to be read at the instrument."""

from knobpack.sheets.replay import in_order as in_order
from knobpack.sheets.replay import replay as replay
from knobpack.sheets.sheet import PatchSheet as PatchSheet
from knobpack.sheets.sheet import patch_sheet as patch_sheet
from knobpack.sheets.steps import Step as Step
