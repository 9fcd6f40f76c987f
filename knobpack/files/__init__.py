"""Words as JSON files: strict to read, atomic to save, with a JSON Schema."""

from knobpack.file_shapes import VERSION
from knobpack.files.plain import from_plain, to_plain
from knobpack.files.store import (
    dumps,
    graph_ending,
    load,
    load_request,
    load_setup,
    loads,
    save,
    save_graph,
    save_sheet,
    schema,
    sheet_ending,
)
from knobpack.files.stored import Word
from knobpack.files.written import Answers, allocation_to_plain, answer_to_plain, answers_to_plain

__all__ = [
    "VERSION",
    "Answers",
    "Word",
    "allocation_to_plain",
    "answer_to_plain",
    "answers_to_plain",
    "dumps",
    "from_plain",
    "graph_ending",
    "load",
    "load_request",
    "load_setup",
    "loads",
    "save",
    "save_graph",
    "save_sheet",
    "schema",
    "sheet_ending",
    "to_plain",
]
