"""Lines on paper: none wider than asked, no word lost, a name breaks at its hyphens."""

import pytest

from kilnctl.report.layout import system_fonts
from kilnctl.report.layout.type_setting import broken_at, draw_with_fonts, width_pt

SAID = "The soak clock stood still while the door was open; it went on at the goal."


@pytest.mark.parametrize("wide_pt", [60.0, 120.0, 500.0])
def test_no_line_is_wider_and_no_word_is_lost(wide_pt: float) -> None:
    lines = broken_at(SAID, wide_pt, 9.0)
    assert all(width_pt(line, 9.0) <= wide_pt for line in lines)
    assert " ".join(lines) == SAID


def test_twice_the_size_is_twice_the_width() -> None:
    assert width_pt("gouge", 18.0) == pytest.approx(2 * width_pt("gouge", 9.0))


def test_a_long_name_breaks_after_a_hyphen() -> None:
    name = "drawknife-5160-normalise"
    lines = broken_at(name, width_pt("drawknife-5160-", 9.0) + 1.0, 9.0)
    assert lines == ["drawknife-5160-", "normalise"]


def test_a_number_and_its_unit_stay_on_one_line() -> None:
    """A page said "peak 149" and, a line below, "°C"; "about 7" and "h 31 min in all"."""
    for text, fits, first in (
        ("a peak of 149 °C", "a peak of 149", "a peak of"),
        ("in about 7 h 31 min", "in about 7", "in about"),
        ("2 min, within ± 3 °C", "2 min, within ± 3", "2 min, within ±"),
    ):
        lines = broken_at(text, width_pt(fits, 9.0) + 1.0, 9.0)
        assert lines[0] == first
        assert " ".join(lines) == text


def test_nothing_is_one_empty_line() -> None:
    assert broken_at("", 100.0, 9.0) == [""]


def test_letters_that_no_font_has_are_named_each_time_and_not_warned_of(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The chart library warns of a letter once, and then keeps its box."""
    monkeypatch.setattr(system_fonts, "findSystemFonts", list)
    for _ in range(2):
        assert draw_with_fonts(lambda: [f"{width_pt('小刀 drawer', 9.0)} 小刀 drawer"]) == "刀小"
