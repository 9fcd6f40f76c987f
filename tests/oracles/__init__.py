"""Independent ways to the same answers, and requests to try them on.

Nothing here is shared with the solver or with the plain checker: each oracle reads the words anew.
"""
