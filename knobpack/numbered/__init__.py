"""Numbered: a request as whole numbers and bit masks, which the solver works on."""
