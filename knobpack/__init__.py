"""Which physical knob drives what, when layered voices are combined: proven best, and checked.

A request, and its answer::

    Destination Voice Group Surface Knob Travel         what is there
    Snapshot KnobPosition                               what moves with the master, and when
    Together Apart Alone Fixed Barred Weights           what the caller lays down
    Request allocate allocate_request allocate_many     the best layout, as an Allocation
    Layout Route KnobTravel                             a layout, to keep or to stay close to

Setups, and the way from several to one::

    Setup KnobLabel                what is programmed into an instrument
    audit                          what is dead or faulty in one
    combine                        voices of others brought to one
    edit move_to_panel move_home   one thing otherwise, and the least that moves:
                                   OwnKnob OnKnob Swap Part Join OutOfUse BackInUse Away OneMore
    take_back                      an edit taken back, the last one or another
    patch_sheet                    the steps from one to another, to be read at the instrument

Errors: KnobpackError InputError FileError ImpossibleDemands NoLayoutFound, drawn with the rest as
a tree in knobpack.errors.

All else stands in modules, each loaded when it is first asked for::

    questions    why here, why not there, what a knob more would be worth; each gives an Answer
    files        words as JSON files; graphs and sheets written
    tables       a setup as one table, for spreadsheets
    pictures     setups, sweeps and budgets drawn
    midi         controller numbers, controller lists, sweeps as MIDI files
    show         the setups of an evening laid out together
    simulation   the master swept, snapshots changed
    positions    resolutions, steps and curves
    checker      what is valid and what it costs, from the words alone
    clash        which demands clash, minimally, and the cheapest ways out
    allocation, auditing, combination, edits, sheets, many, limits    the parts of the answers
    words, types, errors    all words; what stands in signatures; what is raised
"""

from knobpack.heavy_imports import on_demand as _on_demand

__version__ = "0.16.0"

# Each name is loaded when it is first asked for, so that to import knobpack costs next to nothing:
# __init__.pyi says where it stands.
__getattr__, __dir__ = _on_demand(__name__)
