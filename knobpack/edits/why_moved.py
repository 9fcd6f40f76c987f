"""Why moved: what changes places, and why something is not where it was, in a player's words.

And what one knob of a source drove, and an edit spreads over several.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import attrs

from knobpack.edits.made import knob_of
from knobpack.explanation.what_if import Moved
from knobpack.grouped import grouped
from knobpack.reasons.facts import ALONE, APART, BARRED, FIXED, ON, TOGETHER, Fact, Obstacle
from knobpack.setups.as_read import Reading, read
from knobpack.words import Rule, Setup
from knobpack.words.bundle import Bundle, carried_bundles
from knobpack.words.names import knob_told, listed


def changing_places(
    moved: Sequence[Moved], carries: Mapping[str, Sequence[str]]
) -> Iterator[tuple[tuple[Moved, ...], tuple[Moved, ...]]]:
    """What two knobs drove and each now drives in place of the other.

    Args:
        moved: what is on another knob than it was.
        carries: what each knob drives now.

    Yields:
        What went from one knob to another, and what came from there.
    """
    ways = grouped(((each.before, each.after), each) for each in moved)
    for at, ((one, other), went) in enumerate(ways.items()):
        back = ways.get((other, one), ())
        if not back or one is None or other is None or at > list(ways).index((other, one)):
            continue
        alone = len(carries[other]) == len(went) and len(carries[one]) == len(back)
        if alone and sum(each.before in (one, other) for each in moved) == len(went) + len(back):
            yield tuple(went), tuple(back)


def in_the_way(obstacle: Obstacle, name: str, rules: Mapping[str, Rule]) -> str:
    """What is in the way of a destination, what edits asked for told as that.

    Args:
        obstacle: what is in its way.
        name: its full name.
        rules: the rules that hold, by what a fact calls them.

    Returns:
        It as part of a sentence.
    """
    rest, asked = [], []
    for fact in obstacle.facts:
        if fact.kind == FIXED and fact.destinations != (name,):
            rest.append(Fact(ON, fact.destinations, fact.knob))
        elif fact.kind == TOGETHER:
            asked.append(f"{listed(fact.destinations)} stay together")
        elif fact.kind in (APART, ALONE, BARRED, FIXED) and (rule := rules.get(fact.by or "")):
            asked.append(f"'{rule.phrase}' was asked for")
        else:
            rest.append(fact)
    told = [str(Obstacle(tuple(rest)))] if rest else []
    return listed([*told, *asked])


def source_bundles(reading: Reading) -> Iterator[Bundle]:
    """What one knob of a source drove and one knob drives now, two destinations or more.

    Args:
        reading: the setup.
    """
    at = knob_of(reading)
    for bundle in (each for own in carried_bundles(reading.setup.voices) for each in own):
        for names in grouped((at[n], n) for n in bundle.names if n in at).values():
            if len(names) > 1:
                yield attrs.evolve(bundle, names=tuple(names))


def parted_told(before: Setup, after: Setup) -> Iterator[str]:
    """The bundles that were on one knob and are on several.

    Args:
        before: the setup as it was.
        after: what it became.

    Yields:
        A sentence for each.
    """
    now = knob_of(read(after))
    for bundle in source_bundles(read(before)):
        places = grouped((now[name], name) for name in bundle.names if name in now)
        if len(places) > 1:
            where = [f"{listed(names)} on {knob_told(knob)}" for knob, names in places.items()]
            yield (
                f"Parted, though {knob_told(bundle.knob)} of {bundle.origin} drove them together: "
                f"{listed(where)}."
            )
