"""Explanation: why an allocation is as it is; each reason a value that can be checked.

An answer is a frozen value that holds its reasons; its sentences are made from its fields alone.
There are three sorts of reason, and each can be checked without what made it.

* **Facts** (``reasons/facts.py``): a snapshot moves one and holds another, a rule names both, the
  base keeps a route, a knob is reserved, a limit is reached. ``Ground`` finds them from the words.
  An *obstacle* is the facts that together forbid a move, each of them needed; it is *lasting* if no
  fact is about the present layout. What required ``together`` rules bind is moved as one unit, and
  the binding rules are among the facts.
* **Prices**: the difference of two priced layouts, term by term (``comparison.py``); both are
  priced by the definition (``layout_prices.py``). "Moving it alone" changes one unit and lets each
  knob take its cheapest travel, so only that unit and two knobs are priced (``case.py``).
  What *could share instead* (``instead.py``) moves one load off the knob, and perhaps another to
  make room for it: of the ways that no tier before *sharing* speaks against, the cheapest few that
  the plain checker passes. They are some that there are, not all.
* **Solved again** (``what_if.py``): the best layout with something forced or dropped.
  ``why_not(solve=True)`` adds a required ``Fixed``. ``why_shared(solve=True)`` needs one solve
  for each destination but the first: where not all share, one of them is apart from the first.
  ``why_unplaced`` makes all that is placed, and the one left out, ``must_place``: the clash that
  follows says why, its ways out say what would place it. Where dropping something leaves the
  numbered problem as it is, because others imply it, there is no search (``allocate_alike``).
  What each demand costs (``demand_prices.py``) is looked for until the tier is proven that
  decides, one demand after the other within one effort; a tier of which the layout itself has no
  proof gets a glance, and sets that are priced are kept for the next of these searches
  (``Watch.kept``).

The **knob budget** reads the value functions of the families, their frontiers, which are worked
out when it is asked. They are read only where they are exact for the question: knobs
interchangeable, no limit on routes that bites, no spread that could be lost at that entry; what
is missing is solved, family by family. **Other best layouts** are counted up to knob order: two
layouts are the same way to share if the same sets share. The fast way walks every cheapest choice
of the frontiers; elsewhere the space of layouts is split after each way found, and each part
solved, until none is as good (Lawler's scheme). Of an **edit of a setup in use** all questions
are answered, in its order of tiers. Its knobs are not alike, and what moves counts by whole
knobs, so families cannot be added up and there are no frontiers: each entry of its budget is the
whole surface solved again, for a family with all else held where it is,
for a knob fewer with one knob, whichever, empty; other best layouts are looked for one by one in
the compact model, all tiers held and each way found ruled out (``solver/cp_sat/in_use.py``).
``Allocation.graph`` is built from words, layout and prices below the allocation, so that imports
run one way. The **graph of reasons** of an answer (``.graph``, ``reasons/answer_graph.py``) lies
over it: words and facts under the same names, and the parts of the answer, which lead to them. No
answer makes its own: one table says what the names in a field are names of, one which edges say a
kind of fact. Nothing is left out, so the tests read every answer back from its graph
(``tests/oracles/reasons_read.py``), sentences and all, and without any one node cannot. What is
drawn of one (``reason_boxes.py``) is three columns: the answer, what else there could be, and
what speaks against that, all that is closed for one cause in one box. The **page of reasons**
(``explanation/page.py``) has no script: links, ``:target``, radio buttons and ``details`` choose,
a chosen knob hides the others on a screen and none on paper. It takes 98 KB of 8 knobs and 24
destinations, 0.67 MB of 64 and 320; from 100 destinations on it leaves the drawings out.
"""
