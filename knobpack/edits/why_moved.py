"""Why moved: what changes places, and why something is not where it was, in a player's words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from knobpack.explanation.what_if import Moved
from knobpack.grouped import grouped
from knobpack.reasons.facts import ALONE, APART, BARRED, FIXED, ON, TOGETHER, Fact, Obstacle
from knobpack.words import Rule
from knobpack.words.names import listed


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
