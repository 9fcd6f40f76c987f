# What knobpack.edits offers, for type checkers; __init__.py loads each name when it is asked for.

from knobpack.edits.answer import Edited as Edited
from knobpack.edits.editor import edit as edit
from knobpack.edits.other_panel import move_home as move_home
from knobpack.edits.other_panel import move_to_panel as move_to_panel
from knobpack.edits.taken_back import take_back as take_back
from knobpack.words.setup_edits import Away as Away
from knobpack.words.setup_edits import BackInUse as BackInUse
from knobpack.words.setup_edits import Join as Join
from knobpack.words.setup_edits import OneMore as OneMore
from knobpack.words.setup_edits import OnKnob as OnKnob
from knobpack.words.setup_edits import OutOfUse as OutOfUse
from knobpack.words.setup_edits import OwnKnob as OwnKnob
from knobpack.words.setup_edits import Part as Part
from knobpack.words.setup_edits import Swap as Swap

__all__: list[str]
