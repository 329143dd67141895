"""A length of time as a page says it."""

from kilnctl.report.time_words import spoken


def test_full_hours_are_said_without_minutes() -> None:
    assert [spoken(s) for s in (7200.0, 7500.0, 1500.0)] == ["2 h", "2 h 05 min", "25 min"]
