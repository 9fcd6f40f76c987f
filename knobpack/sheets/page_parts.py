"""What is the same in every page: its frame, its style (sheet.css) and its script (sheet.js).

Style and script hold nothing of a setup.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable
from html import escape
from pathlib import Path


def page(title: str, body: Iterable[str], *, style: str, script: str = "", key: str = "") -> str:
    """One page that needs nothing else: nothing is loaded, and only its own style and script act.

    That is what its content security policy says (CSP Level 3).

    Args:
        title: what it is called, as plain text.
        body: what stands in it, as HTML.
        style: its style.
        script: its script; empty: none acts.
        key: what the script keeps things under; empty: nothing is kept.
    """
    policy = "; ".join(
        (
            "default-src 'none'",
            f"style-src '{_hash(style)}'",
            *([f"script-src '{_hash(script)}'"] if script else []),
            "base-uri 'none'",
            "form-action 'none'",
        )
    )
    parts = (
        "<!DOCTYPE html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        '<meta name="referrer" content="no-referrer">',
        f"<title>{escape(title)}</title>",
        f"<style>{style}</style>",
        "</head>",
        "<body>",
        f'<main data-key="{key}">' if key else "<main>",
        *body,
        "</main>",
        *([f"<script>{script}</script>"] if script else []),
        "</body>",
        "</html>",
    )
    return "\n".join(parts) + "\n"


def by_itself(text: str) -> str:
    """A text by itself: which way it runs turns nothing beside it."""
    return f"<bdi>{escape(text)}</bdi>"


def beside(module: str, name: str) -> str:
    """What stands in a file that lies beside a module: a style or a script."""
    return Path(module).with_name(name).read_text(encoding="utf-8")


def _hash(source: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(source.encode()).digest()).decode()


STYLE = beside(__file__, "sheet.css")
SCRIPT = beside(__file__, "sheet.js")
