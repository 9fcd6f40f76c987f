"""Importance prices: what a destination costs by its priority, left out or on another knob."""

from __future__ import annotations

from knobpack.words import Request
from knobpack.words.voice import HIDDEN, STANDING


def omission_price(request: Request, name: str) -> int:
    """Tier *unplaced*: what a destination costs that is left out.

    Args:
        request: what was asked.
        name: the full name of the destination.

    Returns:
        Points; 0 for what is hidden, and for what a layout in use left out already.
    """
    lost = request.use is not None and request.use.lost(name)
    return 0 if lost else request.weights.omission(request.by_full_name[name].priority)


def hidden_price(request: Request, name: str) -> int:
    """Tier *sharing*: the same; 0 for what is not hidden."""
    lost = request.use is not None and request.use.lost(name)
    hidden = request.by_full_name[name].priority == HIDDEN
    return request.weights.hidden if hidden and not lost else 0


def route_importance(request: Request, name: str) -> int:
    """Tier *change*: what the importance of a destination counts where its route changes.

    0 for what is hidden, and for what the edit of a layout in use names: it is meant to move.
    """
    named = request.use is not None and name in request.use.edited
    return 0 if named else STANDING[request.by_full_name[name].priority - 1]
