"""Page: a patch sheet as one HTML page that needs nothing else; and what every page is made of.

Its style (sheet.css) and its script (sheet.js) hold nothing of a setup.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Iterator
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

from knobpack.sheets.cautions import caution
from knobpack.sheets.panel_picture import panel_figure
from knobpack.sheets.state import KnobState, by_stage, in_words, knob_states, remarks
from knobpack.sheets.steps import Step
from knobpack.sheets.text import opening
from knobpack.text.columns import sentence
from knobpack.words import Setup
from knobpack.words.names import knob_told

if TYPE_CHECKING:
    from knobpack.sheets.sheet import PatchSheet


def page(title: str, body: Iterable[str], *, style: str, script: str = "", key: str = "") -> str:
    """One page that needs nothing else: nothing is loaded, and only its own style and script act.

    That is what its content security policy says (CSP Level 3).

    Args:
        title: what it is called, as plain text.
        body: what stands in it, as HTML.
        style: its style.
        script: its script; empty: none acts.
        key: what the script keeps things under; empty: nothing is kept.
    """
    policy = "; ".join(
        (
            "default-src 'none'",
            f"style-src '{_hash(style)}'",
            *([f"script-src '{_hash(script)}'"] if script else []),
            "base-uri 'none'",
            "form-action 'none'",
        )
    )
    parts = (
        "<!DOCTYPE html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        '<meta name="referrer" content="no-referrer">',
        f"<title>{escape(title)}</title>",
        f"<style>{style}</style>",
        "</head>",
        "<body>",
        f'<main data-key="{key}">' if key else "<main>",
        *body,
        "</main>",
        *([f"<script>{script}</script>"] if script else []),
        "</body>",
        "</html>",
    )
    return "\n".join(parts) + "\n"


def by_itself(text: str) -> str:
    """A text by itself: which way it runs turns nothing beside it."""
    return f"<bdi>{escape(text)}</bdi>"


def file_beside(module: str, name: str) -> str:
    """What stands in a file that lies beside a module: a style or a script."""
    return Path(module).with_name(name).read_text(encoding="utf-8")


def _hash(source: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(source.encode()).digest()).decode()


STYLE = file_beside(__file__, "sheet.css")
SCRIPT = file_beside(__file__, "sheet.js")


def sheet_page(sheet: PatchSheet) -> str:
    """A patch sheet as HTML; the parts of the page are named by numbers alone, never by a name."""
    body = (
        f"<h1>Patch sheet: {by_itself(sheet.title)}</h1>",
        f"<p>{opening(sheet, _name)}</p>",
        *_caution(sheet.before, sheet.after),
        '<div class="bar" id="bar" hidden><output id="count" aria-live="polite"></output>',
        '<button type="button" id="clear">Clear ticks</button></div>',
        *_steps(sheet.steps),
        *(line for each in remarks(sheet, _name) for line in _list(*each)),
        *_result(sheet.after),
    )
    key = key_of(sheet.before, sheet.after, sheet.steps)
    return page(f"Patch sheet: {sheet.title}", body, style=STYLE, script=SCRIPT, key=key)


def key_of(before: Setup, after: Setup, steps: tuple[Step, ...]) -> str:
    """The key that the ticks of a sheet are kept under in a browser: a hash of its steps."""
    written = repr((before.name, after.name, steps))
    return f"patch-sheet-{hashlib.sha256(written.encode()).hexdigest()[:32]}"


def _name(name: str) -> str:
    """A name, its direction kept to itself: it must not turn the text around it.

    Of a full name, the voice stands before the destination whichever way each of them runs.
    """
    return "/".join(map(by_itself, name.split("/", 1)))


def _caution(before: Setup, after: Setup) -> list[str]:
    care = caution(before, after, _name)
    if not care:
        return []
    return [
        '<section class="caution" aria-labelledby="caution">',
        '<h2 id="caution">Caution</h2>',
        f"<p>{care}</p>",
        "</section>",
    ]


def _steps(steps: Iterable[Step]) -> list[str]:
    found = []
    for place, (stage, each) in enumerate(by_stage(steps), 1):
        # Without markers some browsers would take a list for none: its role says that it is one.
        found += [
            f'<section class="steps" aria-labelledby="stage-{place}">',
            f'<h2 id="stage-{place}">{escape(stage)}</h2>',
            '<ol role="list">',
        ]
        found += [
            f'<li><label for="step-{number}">'
            f'<input type="checkbox" id="step-{number}" autocomplete="off">'
            f'<span class="number">{number}</span> <span>{step.told(_name)}</span></label></li>'
            for number, step in each
        ]
        found += ["</ol>", "</section>"]
    return found


def _list(heading: str, items: Iterable[str]) -> list[str]:
    lines = [f"<li>{item}</li>" for item in items]
    if not lines:
        return []
    return [f"<h2>{heading}</h2>", '<ul class="plain" role="list">', *lines, "</ul>"]


def _result(after: Setup) -> list[str]:
    states = knob_states(after)
    return [
        '<section aria-labelledby="result">',
        '<h2 id="result">When all is set</h2>',
        *panel_figure(after.surface, states),
        '<ul class="cards" role="list">',
        *(line for knob in states for line in _card(knob)),
        "</ul>",
        "</section>",
        *_list("Voices", in_words(after, _name)),
    ]


def _card(knob: KnobState) -> Iterator[str]:
    """What stands on a knob."""
    label = "" if knob.label is None else f" '{_name(knob.label)}'"
    yield f"<li><h3>{_name(sentence(knob_told(knob.knob)))}{label}{knob.amiss}</h3>"
    yield "<dl>"
    yield from _told("Travel", (knob.travel,))
    yield from _told("Drives", knob.ends(_name))
    if knob.drives:
        follows = ", ".join(f"'{_name(name)}'" for name in knob.follows) or "no snapshot"
        yield from _told("Follows the master in", (follows,))
    if knob.sends is not None:
        yield from _told("Sends", (knob.sends,))
    yield "</dl></li>"


def _told(what: str, items: Iterable[str]) -> Iterator[str]:
    lines = [f"<dd>{item}</dd>" for item in items] or ['<dd class="none">nothing</dd>']
    yield f"<div><dt>{what}</dt>{''.join(lines)}</div>"
