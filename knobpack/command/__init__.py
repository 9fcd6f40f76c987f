"""Command: ``knobpack VERB``, for players; ``python -m knobpack`` is the same."""
