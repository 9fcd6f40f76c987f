"""Tests of the rooms of the solver."""
