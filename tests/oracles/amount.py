"""How many examples the tests try: ``KNOBPACK_EXAMPLES``, 200 where it is not set."""

from __future__ import annotations

import os

EXAMPLES = int(os.environ.get("KNOBPACK_EXAMPLES", "200"))
_MANY = 600


def often(count: int) -> int:
    """How often something must occur that occurs so often in 600 examples; once at least."""
    return max(1, count * min(EXAMPLES, _MANY) // _MANY)
