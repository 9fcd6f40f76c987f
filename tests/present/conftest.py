"""What the tests of what people see share."""

from __future__ import annotations

import pytest

from knobpack.present import command
from tests.present.read_answers import solved


@pytest.fixture
def once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lets the command find each layout but once, so that many questions are asked soon."""
    monkeypatch.setattr(
        command, "allocate_request", lambda request, effort, **_: solved(request, effort)
    )
