"""Layouts soon, and better ones as long as there is effort; what they cost in one number."""
