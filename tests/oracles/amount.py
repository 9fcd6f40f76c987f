"""How many examples the tests try: ``KNOBPACK_EXAMPLES``, 600 where it is not set; 5000 in full."""

from __future__ import annotations

import os

EXAMPLES = int(os.environ.get("KNOBPACK_EXAMPLES", "600"))
