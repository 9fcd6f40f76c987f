"""Audit of a setup: which knobs do something, which are dead and why, and what else is amiss."""

from knobpack.auditing.audit import audit
from knobpack.auditing.findings import Audit, Finding, KnobUse

__all__ = ["Audit", "Finding", "KnobUse", "audit"]
