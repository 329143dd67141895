"""Fonts of this computer for letters that our own font lacks: a name in Japanese, say.

They are looked for only when such a letter is met, and put into the file with the letters that it needs.
"""

from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from matplotlib.font_manager import FontEntry, findSystemFonts, fontManager
from matplotlib.ft2font import FT2Font

PLAIN = ("Regular", "Book", "Roman", "Medium")
PLACEHOLDERS = "Last Resort"  # has a box for every letter


def fonts_with(letters: Iterable[str]) -> list[str]:
    """Return names of fonts that have these letters, as few as can be; a letter that none has is left out."""
    left, found = set(letters), list[str]()
    has = {path: has for path in sorted(map(str, findSystemFonts())) if (has := _which(path, left))}
    while best := max(has, key=lambda path: (len(has[path] & left), *_rank(path)), default=None):
        if not has[best] & left:
            break
        left -= has.pop(best)
        found.append(_made_known(best))
    return found


def _which(path: str, letters: set[str]) -> set[str]:
    """Return which letters a font draws; none where it cannot be read, or holds pictures of one size."""
    with suppress(OSError, RuntimeError):
        font = FT2Font(path)
        if font.scalable and PLACEHOLDERS not in font.family_name:
            return {letter for letter in letters if font.get_char_index(ord(letter)) and _inked(font, letter)}
    return set()


def _inked(font: FT2Font, letter: str) -> bool:
    """Return whether a letter has an outline; letters in colour have none that paper could take."""
    font.set_size(12.0, 72.0)
    font.load_char(ord(letter))
    return len(font.get_path()[0]) > 0


def _rank(path: str) -> tuple[bool, bool, str]:
    """Return what makes a font better than another with the same letters: upright, plain, without serifs."""
    font = FT2Font(path)
    name = font.family_name
    return font.style_name in PLAIN, "Serif" not in name and "Mono" not in name, Path(path).name


def _made_known(path: str) -> str:
    """Return a name for a font, known to the chart library from now on; bold words are set in it as it is."""
    name = f"{FT2Font(path).family_name}, {Path(path).stem}"
    if all(entry.name != name for entry in fontManager.ttflist):
        fontManager.ttflist += [FontEntry(fname=path, name=name, weight=weight) for weight in (400, 700)]
    return name
