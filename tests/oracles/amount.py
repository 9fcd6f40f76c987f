"""How many examples the tests try: ``KNOBPACK_EXAMPLES``, 200 where it is not set."""

from __future__ import annotations

import os

EXAMPLES = int(os.environ.get("KNOBPACK_EXAMPLES", "200"))
