"""Which demands clash, minimally, and the cheapest ways out.

**A clash** is a minimal unsatisfiable subset by deletion. Whether a part of the demands can be met
is answered by counting and a greedy placement, and only then by packing
(``solver/cp_sat/packing.py``), whose *impossible* counts if a second run without presolve says so
too. **Ways out** are minimal correction subsets, the cheapest first, by implicit hitting sets: the
cheapest demands are given up that hit all that is known to clash; where the rest still clashes, a
clash of it is known then, and of a crowd (more classes of destinations that may not share than
there are knobs) one inequality that holds for all ways out. **All clashes** are found as MARCO
does: unexplored parts of the demands are grown to a way out or shrunk to a clash until none is
left.
"""

from knobpack.clash.find import Clash, ImpossibleDemands, WayOut

__all__ = ["Clash", "ImpossibleDemands", "WayOut"]
