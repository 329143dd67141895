"""What stands on the screen before the first picture: what it waits for, the caution, and off."""

from textwrap import wrap

from textual.content import Content
from textual.widget import Widget

from kilnctl.dashboard.drawing.big_font import big, height_of, largest, width_of
from kilnctl.dashboard.drawing.text_layout import Part, lines, text

NOTHING, ROWS_OF_WORDS = "NO DATA", 9
LONG_S = 5.0  # a controller that is there sends a picture a second
CAUTION = (
    "HOT EQUIPMENT – software is not the safety limit. Know where the isolator is. Oil fire: lid, not water."
)


class FirstPicture(Widget):
    """The whole screen until something has come."""

    DEFAULT_CSS = "FirstPicture { height: 1fr; width: 1fr; }"

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self._shown = (0.0, "")

    def show(self, waited_s: float, answer: str) -> None:
        """Show how long it has waited, and the newest answer."""
        self._shown = (waited_s, answer)
        self.refresh()

    def render(self) -> Content:
        """Return the words at the top, caution and off at the bottom, where they stay."""
        width = max(3, self.size.width)
        top = [row for line, style in waiting_parts(*self._shown) for row in _rows(line, style, width)]
        if self._shown[0] >= LONG_S:  # whoever opened it may be across the shop by now
            top += [text(""), *(text((f" {row}", "$strong")) for row in _large(width, self.size.height))]
        foot = [
            *_rows(CAUTION, "bold $strong", width),
            Content.from_markup("[@click=app.off][bold reverse] F9 OFF [/][/]"),
        ]
        return lines([*top, *[text("")] * max(0, self.size.height - len(top) - len(foot)), *foot])


def _rows(line: str, style: str, width: int) -> list[Content]:
    """Return words in rows that keep clear of both edges."""
    return [text((f" {row}", style)) for row in wrap(line, width - 2)]


def _large(width: int, height: int) -> tuple[str, ...]:
    """Return the words in letters as tall as there is room; none in a small terminal."""
    room = height - ROWS_OF_WORDS
    scale = largest(NOTHING, width - 2, room)
    return big(NOTHING, scale) if height_of(scale) <= room and width_of(NOTHING, scale) <= width - 2 else ()


def waiting_parts(waited_s: float, answer: str) -> list[Part]:
    """Return what is waited for, and after a while what to do about it."""
    rows = [(f"Waiting for the controller ... ({waited_s:.0f} s)", "bold $strong")]
    if waited_s >= LONG_S:
        rows.append(("Nothing has come yet. In another terminal: kilnctl status", "bold $soon"))
    return [*rows, (answer, "italic $strong")] if answer else rows
