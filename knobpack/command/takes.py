"""Takes: how it is written down what a verb, a word or an option takes.

What a word takes is written as help shows it: ``KNOB`` is a value, ``...`` more of the last one,
what stands in brackets may be left out. Nothing here takes time to import: help is there at once.
"""

from __future__ import annotations

import re
from typing import NamedTuple

_COUNTED = {1: "a {}", 2: "two {}s"}


class Takes(NamedTuple):
    """A word or an option with what it takes.

    Attributes:
        name: the word; of what a verb takes by its place, empty.
        values: what stands for each value.
        least: how many values it takes at least.
        most: and at most; None: any number.
        told: what it is for.
        usage: all of it, as help shows it.
    """

    name: str
    values: tuple[str, ...]
    least: int
    most: int | None
    told: str
    usage: str

    @property
    def wants(self) -> str:
        """What it takes, in words."""
        needed = [each.lower() for each in self.values[: self.least]]
        told = [_COUNTED[needed.count(each)].format(each) for each in dict.fromkeys(needed)]
        return (" and ".join(told) or "nothing") + (" or more" if self.most is None else "")


def takes_of(text: str) -> tuple[Takes, ...]:
    """Rows of text: what it takes, two spaces, what it is for; deeper lines go on with that."""
    rows = re.sub(r"\n {4,}", " ", text).split("\n")
    return tuple(_row(*row.strip().split("  ", 1)) for row in rows if row)


def _row(usage: str, told: str) -> Takes:
    words = usage.split()
    name = words.pop(0) if words[0].islower() or words[0].startswith("--") else ""
    values = tuple(word.strip("[]") for word in words if word.strip("[]") != "...")
    least = sum(not word.startswith("[") and word != "..." for word in words if word != "...]")
    return Takes(name, values, least, None if "..." in usage else len(values), told, usage)


class Verb(NamedTuple):
    """What the command can do.

    Attributes:
        group: what sort of thing it does.
        told: what it does, in a line that begins with a verb.
        run: the module and the function that does it.
        takes: what it takes by its place, and the options that it alone takes.
        examples: commands that run as they stand, in a folder where those of the verbs before ran.
        words: what may follow its file, ``then`` between.
        words_told: what is said above them.
        shared: whether it takes what all verbs take.
        silent: the options of these that its help is silent about: it refuses them, with what to
            do instead, or what they write is what it was given.
    """

    group: str
    told: str
    run: str
    takes: tuple[Takes, ...]
    examples: tuple[str, ...]
    words: tuple[Takes, ...] = ()
    words_told: str = ""
    shared: bool = True
    silent: frozenset[str] = frozenset()

    @property
    def usage(self) -> str:
        """What follows it."""
        return " ".join([*(each.usage for each in self.takes if not each.name), "[options]"])
