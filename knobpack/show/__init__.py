"""Show: the setups of an evening laid out together, so that the hand finds the same thing there.

The definition stands in :mod:`knobpack.show.definition`. Decided besides:

* *Programmed already stays.* A Request is still to be laid out; an Allocation and a Setup stay as
  they are unless ``Song.free``. A Setup is asked for by its bundles (``setups/bundles.py``): what
  shares a knob because knobs ran out may be parted again, and what no knob drives stays so.
* *Each song alone comes first.* What is left out, parted and broken is no worse in any song than
  it is alone; songs do not touch each other there. In no song are more loads joined, all in all or
  beside what is essential, than in the layout that :func:`knobpack.allocate` gives it alone, plus
  ``more_joined``: knobs joined in one song for the sake of another would be control lost.
* *Relearning counts destinations, then roles, then kinds.* With voices first, two destinations of
  one voice could trade their knobs for nothing in songs that are not neighbours. Each is counted
  over the whole show, whatever the order and the breaks: a thing that is where it was an hour ago
  has not to be learned again. It is 0 exactly if what each destination has to keep apart from over
  the show can be coloured with the knobs there are: the splitting of live ranges in register
  allocation. Each step of importance counts twice the one below (8, 4, 2, 1; hidden 0): nothing
  essential is moved to save a high and a low one.
* *What moves between neighbours* of one role is counted in bundles by the knobs that something
  leaves or comes to, whichever are more, so that it is the same whichever song comes first.
* *Travels come after sharing.* A knob has one travel. If what a song wants of it came after what
  the song before had, an essential destination could go the wrong way for the sake of one that
  shares its knob.
* *A change leaves what is programmed as it is*, and then tells what it would save to free what is
  put in, then the songs beside it too, then all; each way begins with what the one before came to.
  What a song costs by itself is no cost of putting it in. A break after a song comes after what is
  put in right behind it; in another order breaks come after as many songs as before.
* *On another panel* each song is taken there as a setup is (:mod:`knobpack.edits`); then all are
  laid out together, what is programmed too, as nothing is programmed there. Where most songs have
  a thing at home is where the hand knows it to be (``Song.known``): elsewhere it is relearned. Back
  home each is what it was.
* *Where every song may move, knobs are called* so that the most stays where it was: what is between
  songs is the same whichever knob is which.

How it is searched (:mod:`knobpack.show.stages`): each song alone first, with its proof; then large
neighbourhoods, until destinations cost as little as it gets. Bundles that are whole alone are one
atom. What destinations cost in *relearning* is bounded by trajectories, what one knob carries
through all songs (:mod:`knobpack.show.trajectories`). Of shows with few places (atoms times knobs)
all trajectories that may be in a best one are listed, where they are not too many, and by those
every tier is proven (:mod:`knobpack.show.short_shows`); what is left open one model looks for.
Of longer ones nothing else is bounded but *sharing*, by what songs come to alone; what an edit laid
out counts nothing there, as its bound is one beside the least change.

Sources: the same function in the same relative place (MIL-STD-1472E 5.4.1.4.2), consistency over
displays (NUREG-0700), both read in secondary sources. Mathematics: C. Groër, B. Golden, E. Wasil,
The consistent vehicle routing problem, M&SOM 11(4), 2009.
"""

from knobpack.heavy_imports import on_demand

# __init__.pyi says where each stands.
__getattr__, __dir__ = on_demand(__name__)
