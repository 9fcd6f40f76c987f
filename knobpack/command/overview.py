"""Overview: the command told in ten lines, and in one page."""

from __future__ import annotations

from knobpack.command.streams import EXIT_STATUSES
from knobpack.command.verbs import MEANT, VERBS, told_elsewhere
from knobpack.text.columns import listing, paragraph

GROUPS = ("start", "lay out", "change", "look", "write")
"""What sorts of verbs there are, in the order in which one needs them."""

_FIRST = (
    ("knobpack demo", "an evening: two sources, a late one, a broken knob"),
    ("knobpack demo demo", "write its setups, to try all else on"),
    ("knobpack combine BASE SOURCE ...", "bring voices to a base"),
    ("knobpack VERB --help", "how a verb is used, with examples"),
    ("knobpack --help", "all verbs, and what they end with"),
)


def first_words(wide: int) -> str:
    """What is said where nothing was asked: ten lines, on a terminal of 80 columns or more."""
    verbs = ", ".join(VERBS)
    lines = paragraph("knobpack finds which knob drives what, when voices are combined.", page=wide)
    lines += listing(_FIRST, page=wide)
    return "\n".join([*lines, *paragraph(f"Verbs: {verbs}.", 0, 2, wide)]) + "\n"


def overview(wide: int) -> str:
    """All verbs, and what the command ends with."""
    lines = ["usage: knobpack VERB ...", ""]
    lines += paragraph(
        "Finds which knob drives what when layered voices are combined: proven best, checked, "
        "explained, and written as a sheet to program from.",
        page=wide,
    )
    for group in GROUPS:
        rows = [(name, each.told) for name, each in VERBS.items() if each.group == group]
        lines += ["", f"{group}:", *listing(rows, page=wide)]
    told = "knobpack VERB --help tells more, with examples. A file is a request or a setup, in JSON"
    lines += ["", *paragraph(f"{told}; - is standard input, or output.", page=wide)]
    rows = [(str(status), meaning) for status, meaning in EXIT_STATUSES]
    lines += ["", "exit status:", *listing(rows, page=wide)]
    return "\n".join(lines) + "\n"


def not_a_verb(word: str) -> str:
    """Why a word is no verb, and what comes close to it."""
    from knobpack.words.names import hint, near_to

    ways = told_elsewhere(word)
    if ways:
        return f"{word}: is no verb of its own; {' or '.join(ways)}"
    if word.startswith("-"):
        return f"{word}: a verb comes first; knobpack --help tells them all"
    if word.endswith(".json"):
        return f"{word}: a verb comes first, such as knobpack allocate {word}"
    near = hint([MEANT[word]]) if MEANT.get(word) in VERBS else near_to(word, VERBS)
    return f"{word}: is no verb{near}; knobpack --help tells them all"
