"""A setup as one table, for spreadsheets: a row for each route, a column for each snapshot."""

from knobpack.heavy_imports import on_demand

# __init__.pyi says where each stands.
__getattr__, __dir__ = on_demand(__name__)
