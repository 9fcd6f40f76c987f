"""Explanation: why an allocation is as it is; each reason a value that can be checked."""
