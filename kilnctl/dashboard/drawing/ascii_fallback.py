"""The screen on a bare console: each line in the letters that its font and encoding have."""

from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

from kilnctl.letters import alike


class Alike(LineFilter):
    """Draws what the console lacks by a character that it has; a question mark where none is alike."""

    def __init__(self, ascii_only: bool) -> None:
        super().__init__()
        self._encoding, self._ascii = ("ascii", True) if ascii_only else ("cp437", False)

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """Return the same line in characters that the console has."""
        return [Segment(self._like(s.text), s.style, s.control) if s.text else s for s in segments]

    def _like(self, text: str) -> str:
        if self._ascii:  # "800 C " and not "800  C": the same columns, and no hole in the words
            text = text.replace("°C", "C ").replace("°F", "F ")
        return alike(text, self._encoding)
