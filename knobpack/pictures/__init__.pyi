# What knobpack.pictures offers, for type checkers; __init__.py loads each when asked for it.

from knobpack.pictures.budgets import draw_budget as draw_budget
from knobpack.pictures.reasons import draw_reasons as draw_reasons
from knobpack.pictures.routes import draw_routes as draw_routes
from knobpack.pictures.show import draw_show as draw_show
from knobpack.pictures.snapshots import draw_snapshots as draw_snapshots
from knobpack.pictures.surface import draw_surface as draw_surface
from knobpack.pictures.sweeps import draw_sweep as draw_sweep

__all__: list[str]
