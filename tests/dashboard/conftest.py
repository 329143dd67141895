"""Screens in these tests look at the clock when they are told to: no test waits for a real timer."""

import pytest

from kilnctl.dashboard import app, base_app

NEVER_S = 1e6


@pytest.fixture(autouse=True)
def no_timers(monkeypatch: pytest.MonkeyPatch) -> None:
    """Stop the two looks at the clock that a screen takes by itself."""
    monkeypatch.setattr(base_app, "LOOK_S", NEVER_S)
    monkeypatch.setattr(app, "COUNT_S", NEVER_S)
