"""Screens in these tests look at the clock when they are told to: no test waits for a real timer.

What every screen reads of styles is parsed once: each of some hundred screens would do it again.
"""

from typing import Any

import pytest
from textual.css.stylesheet import Stylesheet

from kilnctl.dashboard import app, base_app

NEVER_S = 1e6
_parse = Stylesheet._parse_rules
_parsed: dict[tuple[Any, ...], list[Any]] = {}


def parse_once(
    sheet: Stylesheet, css: str, read_from: tuple[str, str], *more: Any, **named: Any
) -> list[Any]:
    """Return the rules of a text of styles; the same text with the same colours has the same ones."""
    key = (css, read_from, more, tuple(named.items()), tuple(sorted(sheet._variables.items())))
    if key not in _parsed:
        _parsed[key] = _parse(sheet, css, read_from, *more, **named)
    return _parsed[key]


@pytest.fixture(autouse=True)
def no_timers(monkeypatch: pytest.MonkeyPatch) -> None:
    """Stop the two looks at the clock that a screen takes by itself."""
    monkeypatch.setattr(base_app, "LOOK_S", NEVER_S)
    monkeypatch.setattr(app, "COUNT_S", NEVER_S)
    monkeypatch.setattr(Stylesheet, "_parse_rules", parse_once)
