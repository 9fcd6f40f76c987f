"""Trust: hostile input, limits, interruptions; nothing crashes, hangs, or is quietly wrong."""
