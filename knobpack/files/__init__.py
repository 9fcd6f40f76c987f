"""Words as JSON files: strict to read, atomic to save, with a JSON Schema."""

from knobpack.files.plain import from_plain as from_plain
from knobpack.files.plain import to_plain as to_plain
from knobpack.files.store import dumps as dumps
from knobpack.files.store import graph_ending as graph_ending
from knobpack.files.store import load as load
from knobpack.files.store import load_request as load_request
from knobpack.files.store import load_setup as load_setup
from knobpack.files.store import loads as loads
from knobpack.files.store import save as save
from knobpack.files.store import save_graph as save_graph
from knobpack.files.store import save_sheet as save_sheet
from knobpack.files.store import schema as schema
from knobpack.files.store import sheet_ending as sheet_ending
from knobpack.files.stored import VERSION as VERSION
from knobpack.files.stored import Word as Word
from knobpack.files.written import allocation_to_plain as allocation_to_plain
from knobpack.files.written import answer_to_plain as answer_to_plain
from knobpack.files.written import answers_to_plain as answers_to_plain
