"""The style of the page of reasons, beside what it has in common with that of a patch sheet."""

from __future__ import annotations

STYLE = """
main { max-width: 66rem; }
a { color: var(--mark); }
nav ul, .index { display: flex; flex-wrap: wrap; gap: .25rem 1rem; }
nav a, .index a { display: inline-block; padding: .6rem 0; }
fieldset {
  border: 1px solid var(--line); border-radius: .5rem; margin: 1rem 0; padding: .25rem 1rem;
}
legend { float: left; width: 100%; padding: .5rem 0 0; }
fieldset div { clear: both; display: flex; flex-wrap: wrap; gap: 0 1.25rem; }
fieldset label {
  display: flex; align-items: center; gap: .5rem; min-height: 2.75rem; cursor: pointer;
}
input[type="radio"] { width: 1.25rem; height: 1.25rem; margin: 0; accent-color: var(--mark); }
.mark, .hold, .ring, .told { display: none; }
.knob .ring { fill: none; stroke: var(--mark); stroke-width: 4; }
.knob .mark { font-weight: 700; }
svg a:hover rect:first-of-type { stroke: var(--mark); stroke-width: 2; }
svg a:focus-visible rect:first-of-type { stroke: var(--mark); stroke-width: 5; }
svg a:focus-visible { outline: none; }
.knobs > li {
  background: var(--card); border: 1px solid var(--line); border-radius: .5rem;
  padding: .75rem 1rem; margin: 0 0 .75rem; scroll-margin-top: 5rem;
}
.knobs > li:target, .knobs > li:has(:target) { border: 2px solid var(--mark); }
.knobs > li:focus { outline: none; }
.knobs dl div { display: flex; flex-wrap: wrap; gap: 0 .75rem; }
.knobs dd { margin: 0; }
.every { display: none; flex-wrap: wrap; gap: 0 1.5rem; }
.every a { padding: .6rem 0; }
@media screen {
  main:has(.knobs > li:target, .knobs > li :target) .every { display: flex; }
  main:has(.knobs > li:target, .knobs > li :target) .knobs > li:not(:target, :has(:target)) {
    display: none;
  }
}
details { border-top: 1px solid var(--line); }
summary { cursor: pointer; padding: .6rem 0; min-height: 2.75rem; }
summary .short { color: var(--quiet); }
summary b { font-weight: 700; }
details > div { padding: .25rem; scroll-margin-top: 8rem; }
.why li { margin: .25rem 0 .25rem 1.1rem; list-style: disc; }
.why li.below { margin-left: 2.3rem; list-style: circle; }
.reasons { margin: .75rem 0 0; }
.reasons path { fill: none; stroke: var(--line); stroke-width: 1.5; }
.reasons rect { fill: var(--ground); stroke: var(--ink); stroke-width: 1.2; }
.reasons .first { fill: var(--done); }
.reasons .shut { stroke-dasharray: 5 3; }
.reasons text { fill: var(--ink); font: 12px system-ui, "Noto Sans", "DejaVu Sans", sans-serif; }
@media (max-width: 52rem) { .reasons { display: none; } }
@media print {
  .reasons, nav, fieldset, .index, .hint { display: none; }
  .told { display: block; }
  .knobs > li { padding: 1mm 2mm; margin: 0 0 2mm; border-radius: 0; }
  details::details-content { content-visibility: visible; block-size: auto; }
  summary { min-height: 0; padding: 1mm 0; break-after: avoid; list-style: none; }
  .why li { margin-top: 0; margin-bottom: 0; break-inside: avoid; }
  .why li:last-child { break-before: avoid; }
}
"""


def shows(snapshots: int) -> str:
    """What is shown once a snapshot is chosen, for so many of them, numbered from 1."""
    return "".join(
        f"main:has(#s{number}:checked) .in{number} {{ display: block; }}\n"
        for number in range(1, snapshots + 1)
    )
