"""The curve in a page: it answers the mouse."""

from html.parser import HTMLParser
from pathlib import Path

import pytest
from printed_pages import page_text

from kilnctl.logbook.writer import Logbook

DAY_S = 86_400.0


class _Slices(HTMLParser):
    """Collects what the curve says under the mouse."""

    def __init__(self) -> None:
        super().__init__()
        self.inside, self.said = False, list[str]()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.inside = self.inside or dict(attrs).get("class") == "slice"

    def handle_data(self, data: str) -> None:
        if self.inside:
            self.said.append(data)
            self.inside = False


def test_the_curve_answers_the_mouse_with_what_was_measured(full_book: Logbook, tmp_path: Path) -> None:
    """By ruler: 180 K/h from 20 degC, so half an hour after the start it was 110 degC."""
    page_text(full_book, 1, tmp_path)
    parser = _Slices()
    text = (tmp_path / "page.html").read_text(encoding="utf-8")
    parser.feed(text)
    (half_hour,) = (words for words in parser.said if "(0 h 30 min after" in words)
    measured = float(half_hour.split("oven ")[1].split(" °C")[0])
    assert measured == pytest.approx(110.0, abs=2.0)  # a slice is 46 s wide, 2.3 K
    assert 'role="img" aria-label="Temperature of run 1' in text
    assert '<th scope="col">' in text
    assert 'name="viewport"' in text
