"""How wide words are on paper, and where their lines break. The only font is the one matplotlib brings."""

import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache

from matplotlib.font_manager import FontProperties, findfont, get_font

FAMILY = "DejaVu Sans"
_LACKS = r"Glyph (\d+) .* missing from"
# A glyph's advance is asked for at one size, and scaled.
AT_PT = 100.0


@contextmanager
def boxes() -> Iterator[set[str]]:
    """Collect the letters that the font lacks: boxes on paper, and said once instead of each time."""
    lacking: set[str] = set()
    with warnings.catch_warnings(record=True) as said:
        warnings.filterwarnings("always", message=_LACKS)
        yield lacking
    for one in said:
        if found := re.match(_LACKS, str(one.message)):
            lacking.add(chr(int(found[1])))
        else:
            warnings.warn_explicit(one.message, one.category, one.filename, one.lineno)


@lru_cache(maxsize=4096)
def width_pt(text: str, size_pt: float, weight: str = "normal") -> float:
    """Return the width of a line in points."""
    font = get_font(findfont(FontProperties(family=FAMILY, weight=weight)))
    font.set_size(AT_PT, 72)
    font.set_text(text, 0.0)
    across, _ = font.get_width_height()
    return float(across) / 64.0 * size_pt / AT_PT


def broken_at(text: str, wide_pt: float, size_pt: float, weight: str = "normal") -> list[str]:
    """Return the lines of a text that is no wider than asked; a word that is wider by itself is cut."""
    lines: list[str] = []
    line = ""
    for word in (piece for w in text.split() for piece in _cut(w, wide_pt, size_pt, weight)):
        longer = f"{line} {word}" if line else word
        if line and width_pt(longer, size_pt, weight) > wide_pt:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line] if line or not lines else lines


def _cut(word: str, wide_pt: float, size_pt: float, weight: str) -> list[str]:
    pieces = []
    while width_pt(word, size_pt, weight) > wide_pt and len(word) > 1:
        fits = next(
            (n for n in range(len(word) - 1, 1, -1) if width_pt(word[:n], size_pt, weight) <= wide_pt), 1
        )
        fits = word.rfind("-", 1, fits) + 1 or fits  # a name of several words breaks between them
        pieces.append(word[:fits])
        word = word[fits:]
    return [*pieces, word]
