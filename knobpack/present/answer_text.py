"""Outcome text: answers as a player reads them in a terminal, each under a heading.

Plain lines, in the answer's own sentences. Only names take more than ASCII.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from knobpack.text.columns import PAGE, headed, text_of
from knobpack.words.names import knob_told

if TYPE_CHECKING:
    from knobpack.explanation.whole import Explanation
    from knobpack.types import Outcome


def heading(word: str, *names: str) -> str:
    """What stands over an answer: the word of its question, and what it is about."""
    return "  ".join([word.replace("-", " ").upper(), *filter(None, [" on ".join(names)])])


def answer_text(head: str, answer: Outcome, page: int = PAGE) -> str:
    """An answer as text.

    Args:
        head: what stands over it. Where everything was asked, each part of the answer has a
            heading of its own instead.
        answer: the answer.
        page: columns of a terminal that a line may take, at most.

    Returns:
        Lines of at most so many columns, the last one ended too; a line left free between parts.
    """
    from knobpack.explanation.whole import Explanation

    parts = _parts(answer) if isinstance(answer, Explanation) else [(head, answer)]
    return text_of(headed(over, _told(each), page) for over, each in parts)


def _told(answer: Outcome) -> Iterable[str]:
    from knobpack.clash import Clash

    # A clash is the answer where it was asked how many knobs are enough.
    if isinstance(answer, Clash):
        return (f"All of it can be had on no number of knobs: {answer}",)
    return answer.sentences


def _parts(whole: Explanation) -> Iterator[tuple[str, Outcome]]:
    """The answers of an explanation, in the order of its sentences."""
    for left_out in whole.unplaced:
        yield heading("why", left_out.destination), left_out
    yield heading("knob-budget"), whole.budget
    for word, answer in (
        ("least-knobs", whole.least),
        ("price-of-demands", whole.demand_prices),
        ("best-layouts", whole.ties),
    ):
        if answer is not None:
            yield heading(word), answer
    for shared in whole.shared:
        yield heading("why-shared", knob_told(shared.knob)), shared
    for here in whole.here:
        yield heading("why", here.destination), here
    if whole.clash is not None:
        yield heading("least-knobs"), whole.clash
