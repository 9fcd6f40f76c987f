"""All sets that may be on one knob, and a model that chooses among them."""
