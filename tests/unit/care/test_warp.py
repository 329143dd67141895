"""Bows that have a cause: the worked example of the job, invented knives."""

from kilnctl.care.warp import pattern
from kilnctl.logbook import entries


def _bows(sides: str) -> list[entries.Warp]:
    names = {"l": "left", "r": "right"}
    return [entries.Warp(f"knife {i}", 1.0 + 0.1 * i, names[s]) for i, s in enumerate(sides)]


def test_five_bows_of_six_to_one_side_have_a_cause() -> None:
    assert pattern(_bows("llrlll")).startswith("5 of 6 bow left, 1.0–1.5 mm: systematic")  # J40
    assert pattern(_bows("lrlrlr")) == ""
    assert pattern(_bows("llrl")) == ""
    assert pattern(_bows("rrrr" + "llrlll")).startswith("5 of 6 bow left")  # only the newest six count
