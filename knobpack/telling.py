"""Telling: what all answers have in common: they print as sentences, and show in a notebook."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from knobpack.markup import figure, listing


class Told:
    """An answer that tells itself in sentences."""

    __slots__ = ()

    @property
    def sentences(self) -> tuple[str, ...]:
        """The answer in plain sentences, what matters most first."""
        raise NotImplementedError

    def __str__(self) -> str:
        return "\n".join(self.sentences)

    def _repr_html_(self) -> str:
        """What a notebook shows."""
        name = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", type(self).__name__).lower().capitalize()
        return figure(name, listing(self.sentences))

    def _repr_mimebundle_(
        self, include: object = None, exclude: object = None
    ) -> Mapping[str, Any]:
        """What a notebook shows, and what it shows where there is no HTML."""
        del include, exclude  # the notebook takes what it wants of the two
        return {"text/plain": str(self), "text/html": self._repr_html_()}
