"""Letters as tall as the terminal allows: drawn here, seven rows of dots, scaled in whole steps.

Every glyph is seven rows of dots; two rows of dots share one row of the terminal (upper and lower half
block), so that a dot is about square.
"""

from functools import cache

_ROWS = 7
_GLYPHS = {
    "A": ".##.|#..#|#..#|####|#..#|#..#|#..#",
    "B": "###.|#..#|#..#|###.|#..#|#..#|###.",
    "C": ".##.|#..#|#...|#...|#...|#..#|.##.",
    "D": "###.|#..#|#..#|#..#|#..#|#..#|###.",
    "E": "####|#...|#...|###.|#...|#...|####",
    "F": "####|#...|#...|###.|#...|#...|#...",
    "G": ".##.|#..#|#...|#.##|#..#|#..#|.##.",
    "H": "#..#|#..#|#..#|####|#..#|#..#|#..#",
    "I": "###|.#.|.#.|.#.|.#.|.#.|###",
    "J": "..##|...#|...#|...#|...#|#..#|.##.",
    "K": "#..#|#..#|#.#.|##..|#.#.|#..#|#..#",
    "L": "#...|#...|#...|#...|#...|#...|####",
    "M": "#...#|##.##|#.#.#|#.#.#|#...#|#...#|#...#",
    "N": "#..#|##.#|##.#|#.##|#.##|#..#|#..#",
    "O": ".##.|#..#|#..#|#..#|#..#|#..#|.##.",
    "P": "###.|#..#|#..#|###.|#...|#...|#...",
    "Q": ".##.|#..#|#..#|#..#|#..#|#.#.|.#.#",
    "R": "###.|#..#|#..#|###.|#.#.|#..#|#..#",
    "S": ".###|#...|#...|.##.|...#|...#|###.",
    "T": "#####|..#..|..#..|..#..|..#..|..#..|..#..",
    "U": "#..#|#..#|#..#|#..#|#..#|#..#|.##.",
    "V": "#...#|#...#|#...#|#...#|.#.#.|.#.#.|..#..",
    "W": "#...#|#...#|#...#|#.#.#|#.#.#|##.##|#...#",
    "X": "#..#|#..#|.##.|.##.|.##.|#..#|#..#",
    "Y": "#...#|#...#|.#.#.|..#..|..#..|..#..|..#..",
    "Z": "####|...#|..#.|.##.|.#..|#...|####",
    "0": ".##.|#..#|#..#|#..#|#..#|#..#|.##.",
    "1": ".#.|##.|.#.|.#.|.#.|.#.|###",
    "2": ".##.|#..#|...#|..#.|.#..|#...|####",
    "3": ".##.|#..#|...#|.##.|...#|#..#|.##.",
    "4": "#..#|#..#|#..#|####|...#|...#|...#",
    "5": "####|#...|#...|###.|...#|#..#|.##.",
    "6": ".##.|#...|#...|###.|#..#|#..#|.##.",
    "7": "####|...#|..#.|..#.|.#..|.#..|.#..",
    "8": ".##.|#..#|#..#|.##.|#..#|#..#|.##.",
    "9": ".##.|#..#|#..#|.###|...#|...#|.##.",
    " ": "..|..|..|..|..|..|..",
    ":": ".|.|#|.|#|.|.",
    ".": ".|.|.|.|.|.|#",
    ",": "..|..|..|..|..|.#|#.",
    "-": "...|...|...|###|...|...|...",
    "+": "...|...|.#.|###|.#.|...|...",
    "/": "...#|...#|..#.|..#.|.#..|.#..|#...",
    "°": ".#.|#.#|.#.|...|...|...|...",
    "?": ".##.|#..#|...#|..#.|.#..|....|.#..",
    "!": "#|#|#|#|#|.|#",
    ">": "....|#...|.##.|...#|.##.|#...|....",
}


def dots(text: str) -> list[str]:
    """Return seven rows of `#` and `.` for a text; what has no glyph shows as a question mark."""
    glyphs = [_GLYPHS.get(letter, _GLYPHS["?"]).split("|") for letter in text.upper()]
    return [".".join(glyph[row] for glyph in glyphs) for row in range(_ROWS)]


def width_of(text: str, scale: int = 1) -> int:
    """Return how many columns a text takes at a scale."""
    return len(dots(text)[0]) * scale if text else 0


def height_of(scale: int = 1) -> int:
    """Return how many rows of the terminal letters take at a scale."""
    return (_ROWS * scale + 1) // 2


@cache
def big(text: str, scale: int = 1) -> tuple[str, ...]:
    """Return a text in big letters, one string per row of the terminal."""
    rows = [_wider(row, scale) for row in dots(text) for _ in range(scale)]
    if len(rows) % 2:
        rows.append("." * len(rows[0]))
    pairs = zip(rows[::2], rows[1::2], strict=True)
    return tuple("".join(_half(a, b) for a, b in zip(up, low, strict=True)) for up, low in pairs)


def _wider(row: str, scale: int) -> str:
    return "".join(dot * scale for dot in row)


def _half(upper: str, lower: str) -> str:
    return {"##": "█", "#.": "▀", ".#": "▄", "..": " "}[upper + lower]


def largest(text: str, width: int, height: int) -> int:
    """Return the largest scale at which a text fits, at least 1."""
    return max(1, min(width // max(1, width_of(text)), 2 * height // _ROWS))
