"""Edits: a setup that is in use with one thing otherwise, and the least that moves for it.

Decided besides the definition (:mod:`knobpack.definition.layout_prices`):

* *An edit holds* as required rules in ``Setup.agreed``, by full names. A later edit that says the
  contrary takes what it names out of an earlier rule; what then still clashes makes the oldest
  rule of the clash give way. Both are said. A rule about a knob that is out of use or not on this
  panel waits.
* *Nothing is lost for the sake of an earlier edit*: where more would be left out than without
  what was agreed, it is solved without any of that; then the rules come back one by one, the
  newest first, each that can without more being lost. The others give way, which is said first; a
  knob that was broken brings them back with what had moved for it. What is hidden has no price
  here, so no rule gives way for it.
* *What an edit changed* is remembered once (``memory.py``): ``Setup.edits`` holds each edit with
  the fields that it changed, as they were and as they became. What was changed since by others or
  by hand is brought along by a three-way merge (``merge.py``).
* *Taken back* (``taken_back.py``), the last one goes without a search, by putting the fields back;
  of one before, those after it are done again. What was edited on another panel is one edit at
  home.
* What no knob drives stays so until an edit names it: freed knobs are not filled. Faults stay as
  they are, but what an edit bears on is laid out as the panel takes it, all of it on one knob.
* What is parted from its knob goes over the travel that it wishes for; what moves whole keeps the
  knob's. What goes over another travel than it had, and wished for none, wishes for that one from
  then on. Voices, groups and knobs that are parted from one another stay together within, and with
  what one knob of a source drove with them, where nothing more is lost or broken for it, though
  more moves. What any edit parts of what one knob of a source drove is said. The
  travel of a knob that nothing on it wants any more stays, and that is said: the player sets it.
  Among equally good layouts one is taken in which what is named leaves what it shares a knob with:
  a preferred ``Barred`` asks for that, so it counts in the last tier.
* What did nothing on a knob that breaks does nothing on a free one, and has none where none is.
* A mended knob is what it was, and so is what moved for it and is still where that put it; edits
  since are not done again, so that nothing else moves.
* *What is torn already is no reason against anything else* (``torn.py``): where what a broken knob
  drove would drive something else away for a snapshot that tore it there, it goes as a whole to a
  knob that follows in that snapshot, or to one that does not, if all else does what it did. What is
  wrong then that was not is said.
* *Which snapshots keep something essential from every knob* (``without_snapshots.py``) is told
  where something essential is left out: one at a time, then two, are given up, and all else is laid
  out once more. Nothing is given up unasked: a snapshot is its player's word.
* A voice takes with it the snapshots that moved nothing else; a destination that goes away stays in
  its voice.
* *To another panel*, a knob is that of the same name, else that at the same row and column; what
  has none is best on the free knobs in the order of its home (``Crossing.in_turn``). A knob that
  did nothing does nothing there, where there is one to spare; else what it drives has none: on a
  knob with anything else it would come to life. What a panel
  has not got room for stays behind: voices by their most important destination, the last
  snapshots. ``Setup.home`` holds the setup as it was at home and as it arrived; back home what is
  as it arrived is what it was, and the rest is brought along by the merge, so
  nothing is scaled back that was not set anew. From one panel to a third it goes by
  way of home, so nothing is scaled twice. A knob out of use there is of that panel: back home its
  edit is taken back first, and those after it are done again. Joined
  bundles stay joined: *change* comes first; parting them is an edit. What was done there to a knob
  to which others had come is done at home to what belongs on it, those others apart.
"""

from knobpack.heavy_imports import on_demand

# __init__.pyi says where each stands.
__getattr__, __dir__ = on_demand(__name__)
