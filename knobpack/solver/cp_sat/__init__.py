"""CP-SAT: the one place that runs it, and the models it is given."""
