"""What is wrong with the sentences of an answer: numbers that it does not hold, words of the trade.

Every number in a sentence must be one that the answer holds, the length of one of its lists, or
what is left of a list that the sentence cuts short.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from itertools import accumulate
from math import floor
from typing import Any

import attrs

from knobpack.explanation.comparison import Comparison
from knobpack.words import Request

JARGON = re.compile(
    r"\b((?i:frontier|cluster|atom|variable|infeasible|feasible|clique|objective|optim\w+|solver|"
    r"constraint|node|edge|mask|bitmask|tier|null|tuple|fact|obstacle)s?|None(?! of)|True|False)\b"
)
WORDS_OF_TIERS = {
    "unplaced": "destinations left out",
    "bundles": "bundles parted",
    "independence": "snapshots broken",
    "sharing": "sharing knobs",
    "change": "routes changed",
    "layout": "places on the panel",
}
_PRICE = r"([\d,]+) points? (more|less) in '([^']+)'"
CUTS = (1, 3, 4, 5, 8, 12)
"""So many items of a list sentences name at most; a clash speaks of all that is placed but one."""
_OTHER_PARTS = ("allocation", "request")


def wrong_in_sentences(request: Request, answer: Any) -> list[str]:
    """All that is wrong in how an answer is told."""
    sentences = answer.sentences
    wrong = [] if str(answer) == "\n".join(sentences) else ["str is not its sentences"]
    if not sentences or not all(isinstance(each, str) and each.strip() for each in sentences):
        wrong.append("there is nothing to read")
    known = numbers_of(answer) | _limits(request)
    names = _names(request, answer)
    for sentence in sentences:
        plain = _without_names(sentence, names)
        numbers = {int(each.replace(",", "")) for each in re.findall(r"\d[\d,]*", plain)}
        wrong += [f"{each} is not in the answer: {sentence}" for each in numbers - known]
        wrong += [f"'{word[0]}' in {sentence!r}" for word in JARGON.finditer(plain)]
        odd = re.search(r"[{}<>\[\]=_]|\.\.|: *\.", plain)
        wrong += [f"'{odd[0]}' in {sentence!r}"] if odd else []
    return [*wrong, *_wrong_prices(answer, sentences)]


def _wrong_prices(answer: Any, sentences: tuple[str, ...]) -> Iterator[str]:
    """Each price in a tier is the deciding one of some comparison that the answer holds."""
    told = {
        (abs(each.amount), "more" if each.amount > 0 else "less", WORDS_OF_TIERS[each.tier])
        for each in _comparisons(answer)
        if each.tier is not None
    }
    for sentence in sentences:
        for number, more, tier in re.findall(_PRICE, sentence):
            if (int(number.replace(",", "")), more, tier) not in told:
                yield f"no such price: {sentence}"


def _comparisons(answer: Any) -> Iterator[Comparison]:
    if isinstance(answer, Comparison):
        yield answer
    for each in _inside(answer):
        yield from _comparisons(each)


def _inside(value: Any) -> list[Any]:
    """What an answer is made of."""
    if isinstance(value, tuple):
        return list(value)
    if attrs.has(type(value)):
        fields = [each.name for each in attrs.fields(type(value))]
        return [getattr(value, name) for name in fields if name not in _OTHER_PARTS]
    return []


def numbers_of(answer: Any) -> set[int]:
    """The numbers that an answer holds, that follow from them, and the lengths of its lists."""
    found: set[int] = set()
    if isinstance(answer, int) and not isinstance(answer, bool):
        found.add(abs(answer))
    if isinstance(answer, tuple):
        found |= {len(answer), *(len(answer) - cut for cut in CUTS if len(answer) > cut)}
    for derived in ("amount", "price"):
        number = getattr(answer, derived, None)
        found |= {abs(number)} if isinstance(number, int) else set()
    if isinstance(answer, Comparison):
        amounts = [each.amount for each in answer.terms if each.tier == answer.tier]
        # What is left of the terms after the first few, 8 at most, is told in one sum.
        found |= {abs(sum(amounts) - some) for some in accumulate(amounts[:8])}
    if hasattr(answer, "top"):  # a travel is told in positions and as a share of the full one
        travels = (answer.travel, getattr(answer, "wanted", None))
        lengths = [abs(each.end - each.start) for each in travels if each is not None]
        found |= {floor(Fraction(100 * each, answer.top) + Fraction(1, 2)) for each in lengths}
    if hasattr(answer, "placed") and hasattr(answer, "used"):
        found.add(answer.placed - answer.used)
    return found.union(*(numbers_of(each) for each in _inside(answer)))


def _limits(request: Request) -> set[int]:
    """Numbers that demands name: the limits of the surface."""
    surface = request.surface
    limits = (surface.destinations_per_knob, surface.routes, surface.layers, surface.snapshots)
    return {each for each in limits if each is not None}


def _names(request: Request, answer: Any) -> list[str]:
    """Every name that a sentence may hold, and rules as text, the longest first."""
    names = {*request.by_full_name, *request.surface.knob_names, *(map(str, request.rules))}
    names |= {voice.name for voice in request.voices} | {each.name for each in request.played}
    names |= {group.name for group in request.groups}
    names |= {voice.source for voice in request.voices if voice.source}
    names |= {inner.source_knob for inner in request.by_full_name.values() if inner.source_knob}
    names |= set(_texts(answer))
    return sorted(names, key=len, reverse=True)


def _texts(answer: Any) -> Iterator[str]:
    if isinstance(answer, str):
        yield answer
    for each in _inside(answer):
        if not isinstance(each, str) and type(each).__module__.startswith("knobpack.words"):
            yield str(each)
        yield from _texts(each)


def _without_names(sentence: str, names: list[str]) -> str:
    """A sentence with a mark for every name in it."""
    return re.sub("|".join(rf"(?<!\w){re.escape(name)}(?!\w)" for name in names), "~", sentence)
