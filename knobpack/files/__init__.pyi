# What knobpack.files offers, for type checkers; __init__.py loads each name when it is asked for.

from knobpack.file_shapes import VERSION as VERSION
from knobpack.files.contents import Saved as Saved
from knobpack.files.plain import Loaded as Loaded
from knobpack.files.plain import from_plain as from_plain
from knobpack.files.store import dumps as dumps
from knobpack.files.store import load as load
from knobpack.files.store import load_allocation as load_allocation
from knobpack.files.store import load_request as load_request
from knobpack.files.store import load_setup as load_setup
from knobpack.files.store import load_show as load_show
from knobpack.files.store import loads as loads
from knobpack.files.store import save as save
from knobpack.files.store import schema as schema
from knobpack.files.stored import Word as Word
from knobpack.files.written import Answers as Answers
from knobpack.files.written import Filed as Filed
from knobpack.files.written import InJson as InJson
from knobpack.files.written import to_plain as to_plain

__all__: list[str]
