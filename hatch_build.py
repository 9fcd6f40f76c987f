"""What is made of the guide when a distribution is built: its text, without links to other files.

Those lead somewhere in a checkout alone; where a package is shown or installed there are none.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from hatchling.metadata.plugin.interface import MetadataHookInterface

_ELSEWHERE = r"\((?!https?://)[^)]*\)"


class Guide(MetadataHookInterface):
    """The guide, for the metadata."""

    def update(self, metadata: dict[str, Any]) -> None:
        """Put it there; hatchling calls it."""
        text = (Path(self.root) / "README.md").read_text("utf-8")
        text = re.sub(rf"!\[[^]]*\]{_ELSEWHERE}\n+", "", text)
        text = re.sub(rf"\[([^]]*)\]{_ELSEWHERE}", r"\1", text)
        metadata["readme"] = {"content-type": "text/markdown", "text": text}
