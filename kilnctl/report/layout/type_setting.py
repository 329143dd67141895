"""How wide words are on paper, and where their lines break.

The font is the one matplotlib brings; for letters that it lacks, one of this computer where there is one.
"""

import re
import warnings
from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import Any

import matplotlib as mpl
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.ft2font import FT2Font
from matplotlib.text import Text

from kilnctl.report.layout.style import FAMILY, STYLE
from kilnctl.report.layout.system_fonts import fonts_with
from kilnctl.report.layout.units_held import HELD, with_units_held

# A glyph's advance is asked for at one size, and scaled.
AT_PT = 100.0


def draw_with_fonts(draw: Callable[[], Iterable[str]]) -> str:
    """Draw in our style what returns its texts; return the letters that no font of this computer has.

    What our font lacks is drawn again with fonts that have it. Their outlines go into a PDF as they are (Type
    3): to cut a font of twenty thousand letters down to five takes seconds.
    """
    lacking = _drawn(draw, STYLE)
    if lacking and (more := fonts_with(lacking)):
        lacking = _drawn(draw, STYLE | {"font.family": [FAMILY, *more], "pdf.fonttype": 3})
    return lacking


def _drawn(draw: Callable[[], Iterable[str]], style: Any) -> str:
    with mpl.rc_context(style), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=r"Glyph \d+ .* missing from")  # it is said once, at the end
        letters = {letter for text in draw() for letter in text if letter.isprintable()}
        fonts = [_font(name, "normal") for name in families()]
        return "".join(
            sorted(one for one in letters if not any(font.get_char_index(ord(one)) for font in fonts))
        )


def texts_of(figure: Figure) -> list[str]:
    """Return the texts of a figure, those of its axes too."""
    return [text.get_text() for text in figure.findobj(Text)]


def families() -> tuple[str, ...]:
    """Return the families that are drawn with: ours, and those of this computer that this page needs."""
    return FAMILY, *(name for name in mpl.rcParams["font.family"] if name not in (FAMILY, "sans-serif"))


def width_pt(text: str, size_pt: float, weight: str = "normal") -> float:
    """Return the width of a line in points."""
    return _width_pt(text, size_pt, weight, families())


@lru_cache(maxsize=4096)
def _width_pt(text: str, size_pt: float, weight: str, names: tuple[str, ...]) -> float:
    font = get_font([_path(name, weight) for name in names])
    font.set_size(AT_PT, 72)
    font.set_text(text, 0.0)
    across, _ = font.get_width_height()
    return float(across) / 64.0 * size_pt / AT_PT


def _font(name: str, weight: str) -> FT2Font:
    return get_font(_path(name, weight))


def _path(name: str, weight: str) -> str:
    return findfont(FontProperties(family=name, weight=weight))


def broken_at(text: str, wide_pt: float, size_pt: float, weight: str = "normal") -> list[str]:
    """Return the lines of a text that is no wider than asked; a word that is wider by itself is cut."""
    lines: list[str] = []
    line = ""
    words = [word.replace(HELD, " ") for word in re.split(r"[ \n]+", with_units_held(text)) if word]
    for word in (piece for w in words for piece in _cut(w, wide_pt, size_pt, weight)):
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
