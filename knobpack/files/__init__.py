"""Whatever is worked out as JSON files: strict to read, atomic to save, with a JSON Schema."""

from knobpack.heavy_imports import on_demand

# __init__.pyi says where each stands.
__getattr__, __dir__ = on_demand(__name__)
