"""A setup as one table, for spreadsheets: a row for each route, a column for each snapshot."""

from knobpack.tables.delimited import DELIMITERS, dumps, load, loads
from knobpack.tables.held import not_held
from knobpack.tables.read import from_rows
from knobpack.tables.written import to_rows

__all__ = [
    "DELIMITERS",
    "dumps",
    "from_rows",
    "load",
    "loads",
    "not_held",
    "to_rows",
]
