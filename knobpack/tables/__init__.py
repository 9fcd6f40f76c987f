"""A setup as one table, for spreadsheets: a row for each route, a column for each snapshot."""

from knobpack.tables.delimited import DELIMITERS as DELIMITERS
from knobpack.tables.delimited import from_text as from_text
from knobpack.tables.delimited import load as load
from knobpack.tables.delimited import save as save
from knobpack.tables.delimited import to_text as to_text
from knobpack.tables.held import not_held as not_held
from knobpack.tables.read import from_rows as from_rows
from knobpack.tables.written import to_rows as to_rows
