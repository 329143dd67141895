"""Letters for a terminal that lacks some: what its font or encoding has not is written by something alike.

A text console shows code page 437 (half blocks and thin lines, no braille); where the locale is not UTF-8
only ASCII is safe. One for one, so that nothing moves; a wide one by two.
"""

import codecs
import io
import sys
import unicodedata

_CONSOLE = str.maketrans({
    "–": "-", "−": "-", "…": "~", "×": "x", "→": ">", "━": "─", "┃": "│", "┏": "┌", "┓": "┐", "┗": "└",
    "┛": "┘", "┣": "├", "┫": "┤", "┳": "┬", "┻": "┴", "╋": "┼", "╌": "-", "┈": ".", "┊": "|", "‖": "|",
    "✖": "x", "✓": "v", "▲": "^", "△": "^", "▼": "v", "▶": ">", "←": "<", "●": "*", "◆": "*", "◔": "o",
    "○": "o", "□": "o", "▖": "▄", "▗": "▄", "▘": "▀", "▝": "▀", "▚": "█", "▞": "█", "▙": "█", "▛": "█",
    "▜": "█", "▟": "█", "╍": ":",
    # dialogs and the palette
    "▁": "_", "▔": "─", "▎": "│", "▊": "│", "▅": "▄", "▆": "▄", "▇": "█", "🔎": "> ",
})  # fmt: skip
_ASCII = str.maketrans({
    "─": "-", "│": "|", "┌": "+", "┐": "+", "└": "+", "┘": "+", "├": "+", "┤": "+", "┬": "+", "┴": "+",
    "┼": "+", "█": "#", "▀": '"', "▄": "o", "▌": "|", "▐": "|", "░": ".", "▒": ":", "▓": "%", "°": " ",
    "·": ".", "═": "=", "■": "#", "≈": "~", "≤": "<", "≥": ">", "±": "~",
    "“": '"', "”": '"', "„": '"', "‟": '"', "«": '"', "»": '"', "‘": "'", "’": "'", "‚": "'",
    "µ": "u", "μ": "u", "÷": "/", "\ufffd": ".",
})  # fmt: skip


def alike(text: str, encoding: str) -> str:
    """Return a text in the letters of cp437 or ascii; a question mark where none is alike."""
    if text.isascii():
        return text
    text = text.translate(_CONSOLE)
    if encoding == "ascii":
        text = "".join(map(_without_accent, text.translate(_ASCII)))
    return text.encode(encoding, "replace").decode(encoding)


def spare_the_terminal() -> None:
    """Let both streams of this process write what their encoding lacks by something alike.

    A message must not be lost, and no command fail, for one letter.
    """
    codecs.register_error("alike", _handle)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="alike")


def _handle(error: UnicodeError) -> tuple[str, int]:
    assert isinstance(error, UnicodeEncodeError)
    return alike(error.object[error.start : error.end], "ascii"), error.end


def _without_accent(letter: str) -> str:
    return letter if letter.isascii() else unicodedata.normalize("NFKD", letter)[0]
