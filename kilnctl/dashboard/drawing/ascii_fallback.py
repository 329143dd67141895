"""The characters of a bare console: what its font or its encoding lacks is drawn by something alike.

A text console shows code page 437 (half blocks and thin lines, no braille); where the locale is not UTF-8
only ASCII is safe. One for one, so that nothing moves; a wide one by two.
"""

from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

_CONSOLE = {
    "–": "-", "−": "-", "…": "~", "×": "x", "→": ">", "━": "─", "┃": "│", "┏": "┌", "┓": "┐", "┗": "└",
    "┛": "┘", "┣": "├", "┫": "┤", "┳": "┬", "┻": "┴", "╋": "┼", "╌": "-", "┈": ".", "┊": "|", "‖": "|",
    # dialogs and the palette
    "▁": "_", "▔": "─", "▎": "│", "▊": "│", "▅": "▄", "▆": "▄", "▇": "█", "🔎": "> ",
}  # fmt: skip
_ASCII = {
    "─": "-", "│": "|", "┌": "+", "┐": "+", "└": "+", "┘": "+", "├": "+", "┤": "+", "┬": "+", "┴": "+",
    "┼": "+", "█": "#", "▀": '"', "▄": "o", "▌": "|", "▐": "|", "░": ".", "▒": ":", "▓": "%", "°": " ",
    "·": ".", "═": "=",
}  # fmt: skip


class Alike(LineFilter):
    """Draws what the console lacks by a character that it has; a question mark where none is alike."""

    def __init__(self, ascii_only: bool) -> None:
        super().__init__()
        self._encoding = "ascii" if ascii_only else "cp437"
        self._ascii = str.maketrans(_ASCII if ascii_only else {})
        self._console = str.maketrans(_CONSOLE)

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """Return the same line in characters that the console has."""
        return [Segment(self._alike(s.text), s.style, s.control) if s.text else s for s in segments]

    def _alike(self, text: str) -> str:
        if text.isascii():
            return text
        text = text.translate(self._console).translate(self._ascii)
        return text.encode(self._encoding, "replace").decode(self._encoding)
