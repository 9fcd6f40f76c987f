"""Definition: what can be had at all, and what is best, in points of each tier."""
