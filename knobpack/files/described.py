"""Described: what a file may hold, as a JSON Schema made of the words themselves.

After a change of the words write it anew::

    python -c 'from knobpack.files.described import described; print(described())' >
        knobpack/file_schema.json
"""

from __future__ import annotations

import json
from typing import Any

from knobpack.file_shapes import DEFINED, SEALED, VERSION
from knobpack.files.forms import FILES, defined, show_forms
from knobpack.files.stored import head

_TEXT = {"type": "string"}


def described() -> str:
    """The JSON Schema of whatever is read back, as the words say it, in ASCII."""
    found = {**defined(*FILES.values(), *show_forms()), **_sealed()}
    whole = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:knobpack:file:{VERSION}",
        "title": f"Whatever is saved as JSON and read back, version {VERSION}",
        "oneOf": [{"$ref": f"#/$defs/{name}"} for name in (*DEFINED.values(), *SEALED.values())],
        "$defs": found,
    }
    return json.dumps(whole, indent=1)


def _sealed() -> dict[str, Any]:
    """What a JSON Schema says of files that nobody writes by hand: no more than their outside."""
    always = {
        "definition": ("Goes up when something comes to cost otherwise.", {"type": "integer"}),
        "digest": ("SHA-256 of all else, keys sorted.", _TEXT),
    }
    rows = {"type": "array", "items": {"type": "object"}}
    outsides: dict[str, dict[str, tuple[str, dict[str, Any]]]] = {
        "answer": {
            "question": ("What it answers, or is; its other keys are what it holds.", _TEXT),
        },
        "answers": {"answers": ("What is saved of each, in a list or under names.", {})},
        "graph": {"nodes": ("As networkx has them.", rows), "edges": ("Likewise.", rows)},
    }
    return {
        SEALED[kind]: {
            "description": f"What is saved of {kind}, for programs.",
            "type": "object",
            "properties": {
                **{key: {"const": each} for key, each in head(kind).items()},
                **{k: {"description": told, **of} for k, (told, of) in {**always, **own}.items()},
            },
            "required": [*head(kind), *always, *own],
            "additionalProperties": True,
        }
        for kind, own in outsides.items()
    }
