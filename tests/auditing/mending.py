"""Mending: a setup changed as a finding says, with the names and numbers that its mend tells."""

from __future__ import annotations

from knobpack.auditing.findings import Finding
from knobpack.words import Setup
from tests.auditing import mends_of_panels, mends_of_routes, mends_of_snapshots
from tests.auditing.altering import MENDS

KNOWN = mends_of_panels, mends_of_routes, mends_of_snapshots
"""The modules that register how each mend is made."""


def mended(setup: Setup, finding: Finding) -> Setup:
    """The setup after one mend, the first that the finding tells which needs no taste."""
    return MENDS[finding.cause](setup, finding)
