"""A console that lacks letters: the like of each, in the same columns."""

from rich.segment import Segment
from textual.color import Color

from kilnctl.dashboard.drawing.ascii_fallback import Alike


def drawn(text: str, ascii_only: bool) -> str:
    (segment,) = Alike(ascii_only).apply([Segment(text)], Color(0, 0, 0))
    return segment.text


def test_no_letter_is_left_that_the_console_lacks() -> None:
    text = "218 °C ±2 K — soak ▲ │"
    for ascii_only, encoding in ((True, "ascii"), (False, "cp437")):
        said = drawn(text, ascii_only)
        said.encode(encoding)
        assert len(said) == len(text)
    assert drawn("218 °C now", True) == "218 C  now"
    assert drawn("218 °C", False) == "218 °C"  # the degree sign is in cp437
