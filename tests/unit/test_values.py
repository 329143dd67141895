"""A value: equal by what it holds, made anew instead of changed, with nothing but its fields."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.readings import Quality, Reading

CHANGES = """
from kilnctl.readings import Reading
reading = Reading(20.0, 1.0)
reading.value = 21.0
Reading("warm", 1.0)
"""


def test_values_are_equal_by_what_they_hold() -> None:
    one, other = Reading.of(20.0, 1.0), Reading(20.0, 1.0, Quality.GOOD)
    assert one == other
    assert len({one, other, replace(one, value=21.0)}) == 2
    assert one.value == 20.0


def test_a_value_has_nothing_but_its_fields() -> None:
    with pytest.raises(AttributeError):
        Reading.of(20.0, 1.0).more = 1.0  # type: ignore[attr-defined]


@pytest.mark.on_demand
def test_mypy_refuses_to_change_one(tmp_path: Path) -> None:
    """On demand: mypy over a module of its own takes longer than all other tests of this file."""
    module = tmp_path / "changes.py"
    module.write_text(CHANGES, encoding="utf-8")
    words = [sys.executable, "-m", "mypy", "--strict", str(module)]
    said = subprocess.run(words, check=False, capture_output=True, text=True).stdout
    assert '"value" defined in "Reading" is read-only' in said
    assert 'incompatible type "str"' in said
