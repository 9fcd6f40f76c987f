"""What is the same in every page: its frame, its style and its script.

Style and script hold nothing of a setup.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable
from html import escape


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


def _hash(source: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(source.encode()).digest()).decode()


STYLE = """
:root {
  color-scheme: light dark;
  --ground: #fbfaf6; --ink: #14171c; --quiet: #434954; --line: #7b818c; --card: #ffffff;
  --mark: #0a4a63; --done: #e3efe6; --warn: #fff1cf; --warn-line: #8a5a00;
}
@media (prefers-color-scheme: dark) {
  :root {
    --ground: #101317; --ink: #f3f1ea; --quiet: #c3c8d1; --line: #858d9a; --card: #1a1f26;
    --mark: #9bd8f5; --done: #1d3326; --warn: #3a2c08; --warn-line: #f0c255;
  }
}
* { box-sizing: border-box; }
body {
  margin: 0; background: var(--ground); color: var(--ink);
  font: 1.125rem/1.5 system-ui, "Noto Sans", "DejaVu Sans", sans-serif;
  overflow-wrap: anywhere;
}
bdi { white-space: pre-wrap; }
main { max-width: 60rem; margin: 0 auto; padding: 1.25rem 1.25rem 4rem; }
h1 { font-size: 1.75rem; line-height: 1.25; margin: 0 0 .5rem; }
h2 { font-size: 1.25rem; margin: 2rem 0 .5rem; color: var(--mark); }
p { margin: .5rem 0; }
.caution {
  background: var(--warn); border: 2px solid var(--warn-line); border-radius: .5rem;
  margin: 1rem 0; padding: .25rem 1rem;
}
.caution h2 { margin: .5rem 0 0; color: inherit; }
.bar {
  position: sticky; top: 0; z-index: 1; display: flex; gap: 1rem; align-items: center;
  justify-content: space-between; background: var(--ground); padding: .5rem 0;
  border-bottom: 2px solid var(--line);
}
.bar[hidden] { display: none; }
.bar output { font-weight: 700; }
button {
  font: inherit; color: inherit; background: var(--card); border: 2px solid var(--line);
  border-radius: .5rem; min-height: 3rem; padding: 0 1rem; cursor: pointer;
}
ol, ul { list-style: none; margin: 0; padding: 0; }
.steps li { margin: 0 0 .5rem; scroll-margin-top: 5rem; }
.steps label {
  display: grid; grid-template-columns: 2rem minmax(2.25rem, auto) 1fr; gap: .75rem;
  align-items: start; min-height: 3.5rem; padding: .85rem 1rem; cursor: pointer;
  background: var(--card); border: 1px solid var(--line); border-radius: .5rem;
}
.steps label:has(:checked) { background: var(--done); }
.number { font-weight: 700; text-align: right; color: var(--quiet); }
input[type="checkbox"] {
  appearance: none; width: 1.75rem; height: 1.75rem; margin: 0; position: relative;
  border: 2px solid var(--ink); border-radius: .3rem; background: var(--card); cursor: pointer;
}
input[type="checkbox"]:checked::after {
  content: ""; position: absolute; left: .5rem; top: .1rem; width: .5rem; height: 1rem;
  border: solid var(--ink); border-width: 0 .2rem .2rem 0; transform: rotate(45deg);
}
:focus-visible { outline: 3px solid var(--mark); outline-offset: 3px; }
.plain li { padding: .25rem 0; }
figure { margin: 0; overflow-x: auto; }
figure svg { display: block; max-width: 100%; height: auto; }
figure svg svg { display: inline; }
figcaption { color: var(--quiet); font-size: .9em; }
.knob rect { fill: var(--card); stroke: var(--line); }
.knob text {
  fill: var(--ink); text-anchor: middle;
  font: 11px system-ui, "Noto Sans", "DejaVu Sans", sans-serif;
}
.knob .head { font-weight: 700; font-size: 14px; }
.knob tspan { unicode-bidi: isolate; white-space: pre; }
.knob path { fill: none; stroke-linecap: round; }
.turn { stroke: var(--line); stroke-width: 2; }
.travel { stroke: var(--mark); stroke-width: 5; }
.start { fill: var(--card); stroke: var(--mark); stroke-width: 2.5; }
.end { fill: var(--mark); }
.cards {
  display: grid; grid-template-columns: repeat(auto-fill, minmax(min(18rem, 100%), 1fr));
  gap: .75rem; margin: 1rem 0;
}
.cards li {
  background: var(--card); border: 1px solid var(--line); border-radius: .5rem;
  padding: .6rem .9rem;
}
h3 { font-size: 1.125rem; margin: 0 0 .25rem; }
dl { margin: 0; font-size: 1rem; }
dl div { margin: .15rem 0; }
dt { color: var(--quiet); }
dd { margin: 0 0 0 .75rem; }
.none { color: var(--quiet); }
@media (max-width: 40rem) {
  main { padding: .75rem; }
  .steps label { padding: .75rem; gap: .5rem; }
  figure svg { max-width: none; }
}
@page { margin: 14mm; }
@media print {
  :root {
    color-scheme: light;
    --ground: #fff; --ink: #000; --quiet: #000; --line: #000; --card: #fff; --mark: #000;
    --done: #fff; --warn: #fff; --warn-line: #000;
  }
  body { font-size: 10.5pt; line-height: 1.35; }
  main { max-width: none; padding: 0 1px; }
  .bar { display: none; }
  h1 { font-size: 16pt; }
  h2 { font-size: 12pt; margin: 1rem 0 .25rem; break-after: avoid; }
  .caution, .steps li, .plain li, .cards li, figure { break-inside: avoid; }
  h2 + *, li:first-child, p:first-child { break-before: avoid; }
  .steps li:last-child, .plain li:last-child { break-before: avoid; }
  .steps li { margin: 0; }
  .steps label {
    min-height: 0; padding: .3rem 0; border: 0; border-bottom: 1pt solid #000; border-radius: 0;
    grid-template-columns: 1.25rem minmax(2rem, auto) 1fr;
  }
  input[type="checkbox"] { width: 1.1rem; height: 1.1rem; border-width: 1.5px; }
  input[type="checkbox"]:checked::after {
    left: .28rem; top: 0; width: .35rem; height: .7rem; border-width: 0 .14rem .14rem 0;
  }
  figure { overflow: visible; }
  figure svg { max-width: 100%; }
  .cards { grid-template-columns: 1fr 1fr; gap: 2mm; margin: 2mm 0; }
  .cards li { padding: 1.5mm 2mm; border-radius: 0; }
  h3 { font-size: 10.5pt; margin: 0; }
  dl { font-size: 9.5pt; }
  dl div { margin: 0; }
  dt, dd { display: inline; margin: 0; }
  dt::after { content: ": "; }
  dd + dd::before { content: "; "; }
}
"""

SCRIPT = """
(function () {
  "use strict";
  var main = document.querySelector("main");
  var key = main.getAttribute("data-key");
  var boxes = Array.prototype.slice.call(main.querySelectorAll("input[type=checkbox]"));
  var bar = document.getElementById("bar");
  var count = document.getElementById("count");
  function kept() {
    try {
      var found = JSON.parse(window.localStorage.getItem(key) || "[]");
      return Array.isArray(found) ? found : [];
    } catch (error) {
      return null;
    }
  }
  function show() {
    var done = boxes.filter(function (box) { return box.checked; }).length;
    count.textContent = done + " of " + boxes.length + " done";
  }
  function keep() {
    var ticked = boxes.filter(function (box) { return box.checked; });
    var names = ticked.map(function (box) { return box.id; });
    try {
      window.localStorage.setItem(key, JSON.stringify(names));
    } catch (error) {
      /* The page works on without a memory. */
    }
    show();
  }
  function restore() {
    var names = kept();
    if (names) {
      boxes.forEach(function (box) { box.checked = names.indexOf(box.id) >= 0; });
    }
    show();
  }
  boxes.forEach(function (box) { box.addEventListener("change", keep); });
  document.getElementById("clear").addEventListener("click", function () {
    if (window.confirm("Take all ticks away?")) {
      boxes.forEach(function (box) { box.checked = false; });
      keep();
    }
  });
  window.addEventListener("storage", function (event) {
    if (event.key === key) { restore(); }
  });
  bar.hidden = boxes.length === 0;
  restore();
})();
"""
