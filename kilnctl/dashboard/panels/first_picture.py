"""What stands on the screen before the first picture: what it waits for, the caution, and off."""

from textual.content import Content
from textual.widget import Widget

from kilnctl.dashboard.drawing.text_layout import lines, text

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
        top = waiting_words(*self._shown)
        foot = [
            text((CAUTION, "bold $strong")),
            Content.from_markup("[@click=app.off][bold reverse] F9 OFF [/][/]"),
        ]
        width = max(1, self.size.width)
        rows = sum(-(-max(1, row.cell_length) // width) for row in (*top, *foot))
        return lines([*top, *[text("")] * max(0, self.size.height - rows), *foot])


def waiting_words(waited_s: float, answer: str) -> list[Content]:
    """Return what is waited for, and after a while what to do about it."""
    rows = [text((f"Waiting for the controller ... ({waited_s:.0f} s)", "bold $strong"))]
    if waited_s >= LONG_S:
        rows.append(text(("Nothing has come yet. In another terminal: kilnctl status", "bold $soon")))
    return [*rows, text((answer, "italic $strong"))] if answer else rows
