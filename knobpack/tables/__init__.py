"""A setup as one table, for spreadsheets: a row for each route, a column for each snapshot."""

from typing import TYPE_CHECKING

from knobpack.heavy_imports import on_demand

if TYPE_CHECKING:
    from knobpack.tables.delimited import dumps as dumps
    from knobpack.tables.delimited import load as load
    from knobpack.tables.delimited import loads as loads
    from knobpack.tables.delimited_text import DELIMITERS as DELIMITERS
    from knobpack.tables.read import from_rows as from_rows
    from knobpack.tables.read import not_held as not_held
    from knobpack.tables.written import to_rows as to_rows

__getattr__, __dir__ = on_demand(__name__)
