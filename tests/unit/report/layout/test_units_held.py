"""A number and its unit are one word to whoever breaks lines."""

from kilnctl.report.layout.units_held import HELD, with_units_held


def test_units_are_held_and_words_are_not() -> None:
    said = with_units_held("7 h 31 min at 218 °C (424 °F), 3.5 mm, 5 hours, 2 sheets, 60 HRC")
    assert said.split(" ") == [
        f"7{HELD}h", f"31{HELD}min", "at", f"218{HELD}°C", f"(424{HELD}°F),", f"3.5{HELD}mm,",
        "5", "hours,", "2", "sheets,", f"60{HELD}HRC",
    ]  # fmt: skip
