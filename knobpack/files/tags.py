"""Tags: how a rule or an edit stands in a file: an object with a key that says which one it is.

A rule has the key ``rule``, an edit the key ``edit``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Final

from knobpack.words import Rule
from knobpack.words.asked import EDITS, Edit
from knobpack.words.rules import RULES

if TYPE_CHECKING:
    from cattrs import Converter

RULE_TAGS: Final[Mapping[str, type[Rule]]] = {rule.__name__.lower(): rule for rule in RULES}
"""What each rule is called in files."""

EDIT_TAGS: Final[Mapping[str, type[Edit]]] = {
    re.sub("(?<!^)(?=[A-Z])", "_", edit.__name__).lower(): edit for edit in EDITS
}
"""What each edit is called in files."""


def write_tags(converter: Converter) -> None:
    """Let a converter write rules and edits with their tags. What holds its default is left out."""
    for key, tags in (("rule", RULE_TAGS), ("edit", EDIT_TAGS)):
        for tag, word in tags.items():
            converter.register_unstructure_hook(word, _tagged(key, tag, word, converter))


def _tagged(
    key: str, tag: str, word: type[Any], converter: Converter
) -> Callable[[Any], dict[str, Any]]:
    from cattrs.gen import make_dict_unstructure_fn

    plain = make_dict_unstructure_fn(word, converter, _cattrs_omit_if_default=True)
    return lambda value: {key: tag, **plain(value)}
