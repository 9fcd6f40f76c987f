"""Which physical knob drives what, when layered voices are combined: proven best, and checked."""

from importlib import import_module
from typing import Any

__version__ = "0.5.0"

# Each name is loaded when it is first asked for, so that to import knobpack costs next to nothing.
# __init__.pyi says the same to type checkers; a test holds the two together.
_OFFERED = {
    "allocator": "allocate allocate_request fewest_knobs",
    "allocation": "Allocation Following NewLayer Tier",
    "auditing.audit": "audit",
    "auditing.findings": "Audit Finding KnobUse",
    "audition": "SweepFile sweep_file sweep_files",
    "checker": "Breach Check check",
    "clash.every": "EveryClash every_clash",
    "clash.find": "Clash ImpossibleDemands WayOut",
    "combination.combine": "combine taking",
    "combination.leaving": "without_source",
    "combination.answer": "Combination",
    "combination.offer": "Offer",
    "combination.report": "Brought Carried IdleKnob Left Played Slip Source Unlayered",
    "controllers": "Closed ControllerNumbers KnobNumber Listening Room Sent controller_numbers",
    "edits.answer": "Edited",
    "edits.asked": "Away BackInUse Join OnKnob OneMore OutOfUse OwnKnob Part Swap",
    "edits.edits": "edit",
    "edits.moving": "move_home move_to_panel",
    "errors": "Fault FileError InputError KnobpackError MissingExtra NoLayoutFound",
    "exchange": "Imported ListedController import_all_controllers import_channel_controllers",
    "explanation.best_layouts": "BestLayouts Place best_layouts",
    "explanation.budget": "knob_budget",
    "explanation.budget_answer": "Budget FamilyBudget",
    "explanation.comparison": "Comparison TermChange",
    "explanation.here": "Here why_here",
    "explanation.least": "Crowd LeastKnobs least_knobs",
    "explanation.not_there": "NotThere why_not",
    "explanation.shared": "Shared why_shared",
    "explanation.unplaced": "Unplaced why_unplaced",
    "explanation.ways": "Way",
    "explanation.what_if": "Difference Moved what_if",
    "explanation.whole": "Explanation explain",
    "explanation.witness": "Witness",
    "explanation.worth": "Worth Worths price_of_demands",
    "facts": "Fact Obstacle",
    "graph": "clash_graph layout_graph",
    "limits": "DEFAULT_EFFORT Progress",
    "many": "NotAnswered Reply Tally allocate_many",
    "positions": (
        "Curve Position Reach reach scaled scaled_array scaled_travel step_at step_position "
        "zero_extended"
    ),
    "prices": "TIERS Prices",
    "sheets": "PatchSheet Step in_order patch_sheet replay",
    "simulation": "Jump Response Sweep Turned change jump_sentences sweep turned worst_changes",
    "words": (
        "Alone Apart Arrival Barred BrokenKnob Destination Fixed Group Home Knob KnobLabel "
        "KnobPosition KnobSending KnobTravel Layout MovedRoute Request Route Rule "
        "Setup Snapshot Span Surface Together Travel Voice VoiceLayer Weights"
    ),
    "words.demand": "Demand",
}
_HOME = {name: module for module, names in _OFFERED.items() for name in names.split()}

_MODULES = ("files", "pictures", "tables")
"""Offered as modules: their names say what a bare ``load`` or ``draw_routes`` would not."""

__all__ = list(_HOME)


def __getattr__(name: str) -> Any:
    if name in _MODULES:
        return import_module(f"knobpack.{name}")
    if name not in _HOME:
        raise AttributeError(f"module 'knobpack' has no attribute {name!r}")
    found = getattr(import_module(f"knobpack.{_HOME[name]}"), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    own = (name for name in globals() if name.startswith("__"))
    return sorted({*own, *_HOME, *_MODULES})
