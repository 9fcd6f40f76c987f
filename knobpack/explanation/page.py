"""Page: an allocation and the reasons for it as one HTML page that needs nothing else, no script.

What is chosen is chosen by links, radio buttons and ``details`` alone: without a style it is a
document with headings, lists and links, from the panel to each reason. Its parts are named by
numbers, never by a name.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from html import escape
from typing import TYPE_CHECKING

import attrs

from knobpack.definition.phrases import many
from knobpack.explanation.reason_boxes import reason_boxes, reason_picture
from knobpack.reasons.answer_graph import Reasoned
from knobpack.setups.as_read import read
from knobpack.setups.undriven import missed_of, undriven_told
from knobpack.sheets.page import STYLE as SHEET_STYLE
from knobpack.sheets.page import by_itself, file_beside, page
from knobpack.sheets.panel_picture import Anchor, panel_figure
from knobpack.sheets.state import KnobState, knob_states
from knobpack.text.columns import sentence
from knobpack.text.shown import Told
from knobpack.words.names import knob_told, knobs_told, listed

if TYPE_CHECKING:
    from knobpack.clash import Clash
    from knobpack.explanation.here import Here
    from knobpack.explanation.shared import Shared
    from knobpack.explanation.whole import Explanation
    from knobpack.words import Setup

STYLE = file_beside(__file__, "page.css")

MOST_DRAWN = 100
"""Destinations up to which each has its reasons drawn; a larger page tells them in words alone."""


def page_of(explanation: Explanation, setup: Setup, title: str, first: Sequence[str] = ()) -> str:
    """The page of an explanation, as HTML.

    Args:
        explanation: what is told.
        setup: what the panel shows.
        title: what stands above all.
        first: sentences that stand in place of those of the layout alone.
    """
    return _Page(explanation, setup, title, first or explanation.allocation.headlines).text()


@attrs.frozen(eq=False)
class _Page:
    explanation: Explanation
    setup: Setup
    title: str
    first: Sequence[str]

    @cached_property
    def states(self) -> tuple[KnobState, ...]:
        return knob_states(self.setup)

    @cached_property
    def snapshots(self) -> tuple[str, ...]:
        return tuple(each.snapshot.name for each in read(self.setup).plays)

    @cached_property
    def numbers(self) -> dict[str, int]:
        """What each destination that is explained is numbered, by its name."""
        known = {each.destination for each in self.explanation.here}
        known |= {each.destination for each in self.explanation.unplaced}
        every = self.explanation.allocation.request.by_full_name
        return {name: at for at, name in enumerate((n for n in every if n in known), 1)}

    @cached_property
    def others(self) -> dict[str, int]:
        """What is driven that no layout was looked for, and where its knob stands on the panel."""
        asked = self.explanation.allocation.request.by_full_name
        there = ((at, name) for at, each in enumerate(self.states, 1) for name, _ in each.drives)
        return {name: at for at, name in there if name not in asked}

    def text(self) -> str:
        body = (
            f"<h1>{by_itself(self.title)}</h1>",
            *(f"<p>{by_itself(each)}</p>" for each in self._first()),
            *self._contents(),
            *self._panel(),
            *self._index(),
            *self._left_out(),
            *self._knobs(),
            *self._whole(),
        )
        return page(self.title, body, style=SHEET_STYLE + STYLE + _shows(len(self.snapshots)))

    def _first(self) -> Iterator[str]:
        told = undriven_told(missed_of(self.setup), ())
        yield from dict.fromkeys((*self.first, *told))
        if self.explanation.stopped:
            yield f"Not all is told: the search was stopped ({self.explanation.stopped})."

    def _contents(self) -> Iterator[str]:
        left = [("left", "Left out")] if self.explanation.unplaced else []
        places = [("panel", "The panel"), *left, ("knobs", "The knobs"), ("whole", "The whole")]
        links = (f'<li><a href="#{to}">{told}</a></li>' for to, told in places)
        yield f'<nav aria-label="Contents"><ul role="list">{"".join(links)}</ul></nav>'

    # The panel

    def _panel(self) -> Iterator[str]:
        yield '<section aria-labelledby="panel"><h2 id="panel">The panel</h2>'
        yield '<p class="hint">Choose a knob to see what it drives and why.</p>'
        if self.snapshots:
            yield "<fieldset><legend>Snapshot: which knobs follow the master in it</legend><div>"
            for number, name in enumerate(("none", *self.snapshots)):
                checked = "" if number else " checked"
                button = f'<input type="radio" name="s" id="s{number}"{checked} autocomplete="off">'
                yield f"<label>{button}<span>{by_itself(name)}</span></label>"
            yield "</div></fieldset>"
        yield from panel_figure(self.setup.surface, self.states, self._anchors())
        yield '<div aria-live="polite">'
        for number, name in enumerate(self.snapshots, 1):
            yield f'<p class="told in{number}">{by_itself(self._follows(name))}</p>'
        yield "</div></section>"

    def _anchors(self) -> dict[str, Anchor]:
        found = {}
        for number, state in enumerate(self.states, 1):
            drives = listed([name for name, _ in state.drives]) or "nothing"
            said = f"{sentence(knob_told(state.knob))}: drives {drives}"
            found[state.knob] = Anchor(f"knob-{number}", said, self._marks(state))
        return found

    def _marks(self, state: KnobState) -> str:
        """What shows on a knob once a snapshot is chosen: a frame and a word, not colour alone."""
        numbers = range(1, len(self.snapshots) + 1)
        follows = [n for n in numbers if self.snapshots[n - 1] in state.follows]
        holds = [n for n in numbers if n not in follows] if state.drives else []
        moved, held = (" ".join(f"in{n}" for n in some) for some in (follows, holds))
        return (
            f'<rect x="3" y="3" width="110" height="142" rx="6" class="ring {moved}"/>'
            f'<text x="58" y="139" class="mark {moved}">follows</text>'
            f'<text x="58" y="139" class="hold {held}">held</text>'
        )

    def _follows(self, snapshot: str) -> str:
        follow = [each.knob for each in self.states if snapshot in each.follows]
        hold = [each.knob for each in self.states if each.drives and each.knob not in follow]
        moves = f"{knobs_told(follow, len(follow)) or 'nothing'} with the master"
        rest = f" and holds {knobs_told(hold, len(hold))}" if hold else ""
        return f"'{snapshot}' moves {moves}{rest}."

    def _index(self) -> Iterator[str]:
        """Every destination, with a link to its reasons."""
        places = {name: f"d{number}" for name, number in self.numbers.items()}
        places |= {name: f"knob-{number}" for name, number in self.others.items()}
        links = (f'<li><a href="#{to}">{by_itself(name)}</a></li>' for name, to in places.items())
        yield f"<details class='hint'><summary>All {many(len(places), 'destination')}</summary>"
        yield f'<ul class="index" role="list">{"".join(links)}</ul></details>'

    # The reasons

    def _left_out(self) -> Iterator[str]:
        if not self.explanation.unplaced:
            return
        yield '<section aria-labelledby="left"><h2 id="left">Left out</h2>'
        for each in self.explanation.unplaced:
            yield from self._answer(
                each, each.destination, "", f"d{self.numbers[each.destination]}"
            )
        yield "</section>"

    def _knobs(self) -> Iterator[str]:
        shares = {each.knob: each for each in self.explanation.shared}
        on: dict[str, list[Here]] = {}
        for each in self.explanation.here:
            on.setdefault(each.knob, []).append(each)
        yield '<section aria-labelledby="knobs"><h2 id="knobs">The knobs</h2>'
        yield '<p class="every"><a href="#panel">Back to the panel</a>'
        yield '<a href="#knobs">Show all knobs</a></p>'
        yield '<ul class="knobs" role="list">'
        for number, state in enumerate(self.states, 1):
            yield f'<li id="knob-{number}" tabindex="-1">'
            label = "" if state.label is None else f" '{by_itself(state.label)}'"
            name = by_itself(sentence(knob_told(state.knob)))
            dead = " (dead)" if state.drives and state.goes is not None and state.goes.empty else ""
            yield f"<h3>{name}{label}{escape(state.amiss or dead)}</h3>"
            yield from self._knob(state, on.get(state.knob, ()), shares.get(state.knob))
            yield "</li>"
        yield "</ul></section>"

    def _knob(self, state: KnobState, here: Sequence[Here], shared: Shared | None) -> Iterator[str]:
        if not state.drives:
            yield '<p class="none">drives nothing</p>'
            return
        follows = ", ".join(f"'{by_itself(name)}'" for name in state.follows) or "no snapshot"
        yield f"<dl><div><dt>Travel</dt><dd>{escape(state.travel)}</dd></div>"
        yield f"<div><dt>Follows the master in</dt><dd>{follows}</dd></div></dl>"
        if others := [name for name, _ in state.drives if name in self.others]:
            told = f"It drives {listed(others)}{' too' if here else ''}, as before"
            yield f"<p>{by_itself(told)}; no other place was looked for.</p>"
        for each in here:
            place = f"d{self.numbers[each.destination]}"
            yield from self._answer(each, each.destination, _short(each), place)
        if shared is not None:
            yield from self._answer(shared, "", f"Why {many(len(here), 'destination')} share it")

    def _whole(self) -> Iterator[str]:
        told = self.explanation
        yield '<section aria-labelledby="whole"><h2 id="whole">The whole</h2>'
        for answer, heading in (
            (told.budget, "One knob more, one knob fewer"),
            (told.least, "The fewest knobs"),
            (told.clash, "Why no number of knobs keeps every snapshot"),
            (told.demand_prices, "What each rule, snapshot and limit costs"),
            (told.ties, "Other layouts as good"),
        ):
            if answer is not None:
                yield from self._answer(answer, "", heading)
        yield "</section>"

    def _answer(
        self, answer: Told | Clash, name: str, short: str, place: str = ""
    ) -> Iterator[str]:
        """An answer, folded; a link to what is in it unfolds it."""
        beside = f' <span class="short">{by_itself(short)}</span>' if short else ""
        said = f"<b>{by_itself(name)}</b>{beside}" if name else by_itself(short)
        yield f"<details><summary>{said}</summary>"
        yield f'<div id="{place}" tabindex="-1">' if place else "<div>"
        yield '<ul class="why">'
        for line in answer.sentences:
            below = ' class="below"' if line.startswith("  ") else ""
            yield f"<li{below}>{by_itself(sentence(line.strip()))}</li>"
        yield "</ul>"
        if len(self.numbers) <= MOST_DRAWN and isinstance(answer, Reasoned):
            boxes = reason_boxes(answer.graph)
            yield from reason_picture(boxes) if boxes.lines else ()
        yield "</div></details>"


def _short(here: Here) -> str:
    """What stands beside the name of a destination: what else there is for it, in a line."""
    if here.pins:
        return "must be here"
    allowed = [each for each in here.others if each.comparison is not None]
    if not allowed:
        return "can go nowhere else as it is"
    if here.ties:
        return f"would be as good on {knobs_told(here.ties, 3)}"
    price = allowed[0].comparison
    return f"could go to {knob_told(allowed[0].knob)} for {price.told}" if price else ""


def _shows(snapshots: int) -> str:
    """What is shown once a snapshot is chosen, for so many of them, numbered from 1."""
    return "".join(
        f"main:has(#s{number}:checked) .in{number} {{ display: block; }}\n"
        for number in range(1, snapshots + 1)
    )
