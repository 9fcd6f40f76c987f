"""Tags: how a rule stands in a file: an object whose key ``rule`` says which rule it is."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Final

from knobpack.words import Rule
from knobpack.words.rules import RULES

if TYPE_CHECKING:
    from cattrs import Converter

TAGS: Final[Mapping[str, type[Rule]]] = {rule.__name__.lower(): rule for rule in RULES}
"""What each rule is called in files."""


def write_tags(converter: Converter) -> None:
    """Let a converter write rules with their tags. A field that holds its default is left out."""
    for tag, rule in TAGS.items():
        converter.register_unstructure_hook(rule, _tagged(tag, rule, converter))


def _tagged(tag: str, rule: type[Rule], converter: Converter) -> Callable[[Any], dict[str, Any]]:
    from cattrs.gen import make_dict_unstructure_fn

    plain = make_dict_unstructure_fn(rule, converter, _cattrs_omit_if_default=True)
    return lambda word: {"rule": tag, **plain(word)}
