"""Combining setups: voices from other setups brought to a base, and all allocated.

``combine()`` does what a good player does by hand (common practice, no source). Where practice
leaves something open, this was decided:

* **What moves is what a knob does, not what a snapshot names.** A source's snapshot that names
  one of three on a knob did not move that knob there, so it holds the three here; one that names
  two moves the third too. So no snapshot that comes along parts a bundle, unless some of it is
  not movable: what may move with the master and what may not are parted, for nothing else will
  do.
* **What nobody asked for keeps nobody off**: added snapshots give way (``giving_way.py``) where a
  whole source would find no knob, as few as can be and the base's last; that is said first, and an
  offer adds the base's all the same. Where some of a source has a knob they stay, and to give them
  up is an offer. What is given up so stays so: to a base that has no snapshot of its own, and
  shares knobs with what came before, none is added, as none could play it alone again.
* **The base's widest snapshot grows even where none is left that moves the base alone**: where
  slots run out that one is given up first, then those of the sources, and that is said.
* **A source's own widest snapshot keeps its name** where that is free, else it goes by the
  source's; positions, silent voices and price of breaking are kept. One called "all" or
  "everything" does not: it moves one source there. Of several that move, hold and silence the
  same, the first stands.
* **Sources have no order among each other**: which of them lies first is a matter of reach
  (``favour``). Of 125 random pairs that came at once the later one lies first in 65, for 13
  points on average; 4 of those could be turned round for nothing. To link the last bundle of one
  to the first of the next, as bundles of one source are linked, is no help: where the free knobs
  lie apart it would rather cut a source in two.
* **New snapshots that come to nothing are dropped once it is known what drives what**: those that
  move nothing, and those in which the same knobs do the same as in an earlier one.
* **A base that stores no snapshot** gets one for all and one of its own, as the one that was
  assumed is gone once others are stored.
* **A knob of the base that carries what may not move** is held in the snapshots that are added:
  no added snapshot tears anything.
* **What may be broken may be broken** by what comes along: a ``break_weight`` of the base's is
  its player's word. The report says at what price.
* **A setup that was combined itself** comes by the bundles of its own sources: what came to share a
  knob there because knobs ran out is none (``setups/bundles.py``), and wants the travel it wished.
* **A knob does something** if its travel reaches from one position, or step, of what it carries
  to another. If it follows in no snapshot it is turned by hand, and comes along.
* **The base's own stays unless it says otherwise**: a voice without a layer keeps none (one is
  left free for it), labels and stored positions of its knobs stay, a broken knob takes nothing,
  and agreed rules hold as far as the base meets them.
* **A source is there already** if a voice says so (``Voice.source``), has its name and the same
  destinations. Other voices of it may follow later.
* **What of the base is freed and goes over another travel** wishes for the one that it had, so that
  a later edit gives it back; a source that goes again takes that wish with it.
* **Offers** (``ways.py``, ``offers.py``) are tried, not estimated: on a panel of up to 16 knobs
  every way, 24 of a sort at most, on a larger one, or where snapshots gave way, three of each, what
  promises most first. Each is combined anew, and where something essential is halved so once more
  without the least important of what comes to that knob. They are ranked by what is essential and
  halved, left out, parted, alarming and given up, then by the other tiers but the layout; the best
  three are shown, of one sort and price the first, in that order, and last those by which something
  essential is joined or halved, or whole sources find no knob. Snapshots to give up are the fewest
  that keep something left out off some knob, or all that a source has beside the one that plays it
  alone, those that gave way among them: else one of these comes in their place. Where all has a
  knob, what matters less and has one to itself may be left out, so that something that matters
  (priority 1 or 2) is as it was in its setup; and where something is turned round, too high, too
  low or still, or a source's own snapshot gave way, what of the base could be freed or what of the
  sources left out, so that less of that is. Of each sort the best stands first. An offer tells all
  that differs from what was found without it, what it wins first.
* **A source goes again** (``combination/taken_away.py``) from what the setup itself says
  (``Voice.source``, names in snapshots) and what its ``Arrival`` remembers: what gave way. Of
  several sources that came after one another, the next one inherits what the one that goes leaves
  behind.
"""

from knobpack.heavy_imports import on_demand

# __init__.pyi says where each stands.
__getattr__, __dir__ = on_demand(__name__)
