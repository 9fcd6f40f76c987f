# What knobpack.tables offers, for type checkers; __init__.py loads each name when it is asked for.

from knobpack.tables.delimited import dumps as dumps
from knobpack.tables.delimited import load as load
from knobpack.tables.delimited import loads as loads
from knobpack.tables.delimited_text import DELIMITERS as DELIMITERS
from knobpack.tables.read import from_rows as from_rows
from knobpack.tables.read import not_held as not_held
from knobpack.tables.written import to_rows as to_rows

__all__: list[str]
