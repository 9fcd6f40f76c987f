"""The words: frozen values, each checked where it is built; each loaded when it is asked for."""

from knobpack.heavy_imports import on_demand

# __init__.pyi says where each stands.
__getattr__, __dir__ = on_demand(__name__)
