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
    rows = _scaled(dots(text), scale)
    air = ["." * len(rows[0])] * (len(rows) % 2)  # above, where a caption may touch
    return _paired([*air, *rows])


@cache
def on_plate(text: str, scale: int, height: int) -> tuple[str, ...]:
    """Return a text in big letters with air below: dark letters that touch the edge of a plate fall apart."""
    rows = _scaled(dots(text), scale)
    spare = 2 * height - len(rows)
    air = "." * len(rows[0])
    below = (spare + 1) // 2
    return _paired([*[air] * (spare - below), *rows, *[air] * below])


def _paired(rows: list[str]) -> tuple[str, ...]:
    pairs = zip(rows[::2], rows[1::2], strict=True)
    return tuple("".join(_half(a, b) for a, b in zip(up, low, strict=True)) for up, low in pairs)


def _scaled(rows: list[str], scale: int) -> list[str]:
    """Return the dots at a scale; where two touch by a corner only, the notches beside it are filled."""
    wide = len(rows[0])
    edged = ["." * (wide + 2), *(f".{row}." for row in rows), "." * (wide + 2)]
    large = []
    for y in range(1, len(rows) + 1):
        cells = [_dot(edged, x, y, scale) for x in range(1, wide + 1)]
        large += ["".join(cell[line] for cell in cells) for line in range(scale)]
    return large


def _dot(edged: list[str], x: int, y: int, scale: int) -> list[str]:
    """Return one dot as `scale` lines; an empty one has a filled corner where a slanted stroke passes."""
    enclosed = edged[y - 1][x] + edged[y + 1][x] + edged[y][x - 1 : x + 2 : 2] == "####"
    if edged[y][x] == "#" or scale == 1 or enclosed:  # the hole of a degree sign stays open
        return [edged[y][x] * scale] * scale
    lines = [["."] * scale for _ in range(scale)]
    for down, after in ((-1, -1), (-1, 1), (1, -1), (1, 1)):
        if edged[y + down][x] == edged[y][x + after] == "#" != edged[y + down][x + after]:
            for i in range(scale):
                for k in range(scale - 1 - i):  # from the corner inwards
                    lines[-1 - i if down > 0 else i][-1 - k if after > 0 else k] = "#"
    return ["".join(line) for line in lines]


def _half(upper: str, lower: str) -> str:
    return {"##": "█", "#.": "▀", ".#": "▄", "..": " "}[upper + lower]


def largest(text: str, width: int, height: int) -> int:
    """Return the largest scale at which a text fits, at least 1."""
    return max(1, min(width // max(1, width_of(text)), 2 * height // _ROWS))
