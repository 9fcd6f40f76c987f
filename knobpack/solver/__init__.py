"""From a problem to a placement, with proof."""
