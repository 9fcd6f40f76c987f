"""Whatever is worked out as JSON files: strict to read, atomic to save, with a JSON Schema."""

from knobpack.file_shapes import VERSION
from knobpack.files.contents import Saved
from knobpack.files.plain import Loaded, from_plain
from knobpack.files.store import (
    dumps,
    load,
    load_allocation,
    load_request,
    load_setup,
    load_show,
    loads,
    save,
    schema,
)
from knobpack.files.stored import Word
from knobpack.files.written import Answers, Filed, InJson, to_plain

__all__ = [
    "VERSION",
    "Answers",
    "Filed",
    "InJson",
    "Loaded",
    "Saved",
    "Word",
    "dumps",
    "from_plain",
    "load",
    "load_allocation",
    "load_request",
    "load_setup",
    "load_show",
    "loads",
    "save",
    "schema",
    "to_plain",
]
