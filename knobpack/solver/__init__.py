"""From a problem to a placement, with proof: what runs when, and where each method is from.

``solve.py`` is the way through, ``store.py`` what is known on it: the best placement, and a bound
for each of the six tiers. A problem is in whole numbers and masks
(:mod:`knobpack.numbered.problem`); its *atoms* are what must be on one knob, its *families*
(``families.py``) the connected components of what may be. Sources are cited from memory.

1. ``contraction.py``: bundles as atoms, what is breakable as firm, tried first and kept only if
   what comes of it is as good as anything can be. An edit of a setup in use goes another way: one
   model for CP-SAT, tier by tier (``cp_sat/in_use.py``).
2. ``value_functions/``: what each family costs with 0, 1, 2, … knobs, the first four tiers in one
   number (``scale.py``). Up to some dozen atoms by dynamic programming over subsets
   (``subset_dp.py``; Held and Karp 1962), unless families are linked by what they leave out. The
   knobs are divided by another dynamic programme (``division.py``).
3. ``column_generation/``: the same of larger ones, unless knobs carry very many of their atoms or,
   of over 60, sets can not be priced exactly in time. Agglomeration gives ways, and annealing where
   what follows takes long; a restricted master (Gilmore and Gomory 1961) prices, a knapsack with
   set-up costs, by what any set comes to know on the way (``frontiers.py``), the cheapest sets and
   so a Lagrangian bound (``knapsack_pricing.py``); what is left between the two is enumerated by
   reduced cost and chosen from (Baldacci, Christofides and Mingozzi 2008). Only what the division
   of the knobs can use is made exact (``division.py``).
4. ``optima/``: of all that is equally good in four tiers, what may differ in the last two: a walk
   over the DAG of optima, pruned by dominance; where that is too much, the compact model of an edit
   searches. ``best_ways.py`` gives all of it, where that is asked, of an edit ``cp_sat/in_use.py``.
5. ``arrangement/``: clusters on single knobs. A Lagrangian relaxation of a time-dependent path
   (Picard and Queyranne 1978) with ng-memory is raised by subgradient ascent (Held, Wolfe and
   Crowder 1974), local search comes from above, and a dynamic programme bounded by both closes the
   gap; what is to come in sequence is counted component by component besides, exactly
   (``orders.py``). The fewest changes are an assignment.
6. ``general.py``, where step 2 or 3 does not hold or leaves a gap: a first placement
   (``primal/greedy.py``; where that finds none ``primal/tabu.py``, then ``cp_sat/packing.py``, made
   better by ``primal/compact_start.py``), bounds (``bounds/``) by counting (``capacity.py``), by
   medians (``modes.py``), by a fee for what is left out (``left_out.py``: a Lagrangian relaxation,
   Geoffrion 1974, bounded by step 3) and by the number of loads on a knob
   (``crowded.py``: a Lagrangian bound for each family and number of knobs, sets priced by a
   knapsack with set-up costs, ``cardinality_pricing.py``), annealing, of all at once and of each
   family on knobs of its own (``by_families.py``), and exact neighbourhoods (``primal/``) as long
   as there is effort. Where all sets can be listed, or those that may break as little as is known
   (``near_modes.py``), ``set_partitioning/`` closes the gap: column generation over the pool, then
   CP-SAT among all sets that fit into it.
7. Where *layout* is not at its bound by then, counting bounds it whatever shares a knob: what is
   drawn to the near knobs, by the rearrangement inequality (``bounds/rearrangement.py``).

``fewest.py`` is a question of its own: the fewest knobs, a chromatic number. ``cp_sat/cpsat.py``
alone runs CP-SAT, ``watch.py`` alone says when to stop.
"""
