"""Remarks: what was tolerated or left out, in sentences, alike ones told as one."""

from __future__ import annotations

import attrs

from knobpack.words.names import listed


@attrs.define
class Remarks:
    """Gathers what is to be remarked on while a list is read."""

    _places: dict[str, dict[str, None]] = attrs.field(factory=dict, init=False)

    def add(self, place: str, told: str) -> None:
        """Remark on something.

        Args:
            place: where it stands, such as ``[3].priority``.
            told: the rest of the sentence.
        """
        self._places.setdefault(told, {})[place] = None

    @property
    def sentences(self) -> tuple[str, ...]:
        """One sentence for each thing that was told, with its places, in order."""
        return tuple(f"{listed(list(places))}: {told}." for told, places in self._places.items())
