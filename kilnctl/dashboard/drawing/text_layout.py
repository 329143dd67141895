"""Styled text that fits the room it is given: rows, rules, bars. Knows nothing of a heat."""

from textwrap import wrap

from textual.content import Content

Part = tuple[str, str]
SHORTEST_BAR = 4


def text(*parts: Part | str) -> Content:
    """Return styled text from (words, style) pairs."""
    return Content.assemble(*parts)


def lines(rows: list[Content]) -> Content:
    """Return rows one under another."""
    return Content("\n").join(rows)


def fit(words_: str, width: int) -> str:
    """Return words that are no longer than width; an ellipsis shows that something is missing."""
    return words_ if len(words_) <= width else words_[: max(0, width - 1)] + "…"


def first_that_fit(words_: list[str], width: int) -> str:
    """Return as many of the words as fit, in their order: what does not fit is left out, not cut."""
    row = ""
    for word in words_:
        longer = f"{row} · {word}" if row else word
        row = longer if len(longer) <= width else row
    return row


def sentence(words_: str) -> str:
    """Return words that end with one full stop."""
    return words_.rstrip(".") + "." if words_ else ""


def plate(words_: str, width: int, style: str) -> Content:
    """Return words broken into rows that are all filled to the width: a reversed text with an even edge."""
    return lines([text((row.ljust(width), style)) for row in wrap(words_, width)])


def standing_in(words_: str, width: int, indent: int, style: str) -> list[Content]:
    """Return words that stand in, in as many rows as they need."""
    in_ = " " * indent
    return [text((row, style)) for row in wrap(words_, width, initial_indent=in_, subsequent_indent=in_)]


def spread(left: Content, right: Content, width: int) -> Content:
    """Return one row with something at both ends; the left gives way."""
    room = width - right.cell_length - (1 if right.cell_length else 0)
    if left.cell_length > room:
        left = left.truncate(max(0, room), ellipsis=True)
    return Content("").join([left, Content(" " * (width - left.cell_length - right.cell_length)), right])


def columns(cells: tuple[Part, ...], starts: tuple[int, ...], width: int) -> Content:
    """Return one row with cells at fixed columns."""
    row = Content("")
    for (words_, style), start in zip(cells, starts, strict=True):
        space = max(0 if not row.cell_length else 1, start - row.cell_length)
        row = Content("").join([row, Content(" " * space), text((words_, style))])
    return row.truncate(width)


def bar(share: float, width: int, plain: bool, mark: float | None = None) -> str:
    """Return an analogue bar; `share` and `mark` (where normal ends) go from 0 to 1."""
    full, empty, tick = ("#", "-", "|") if plain else ("█", "─", "┊")
    inside = max(1, width - 2)
    filled = round(max(0.0, min(1.0, share)) * inside)
    cells = [full] * filled + [empty] * (inside - filled)
    if mark is not None and round(mark * inside) >= filled:
        cells[min(inside - 1, round(mark * inside))] = tick
    return f"[{''.join(cells)}]"


def thin_bar(share: float, width: int, plain: bool, mark: float) -> str:
    """Return a bar of one thin line, for what is far from its limit."""
    full, empty, tick = ("=", "-", "|") if plain else ("━", "─", "┊")
    cells = [full if i < round(share * width) else empty for i in range(max(1, width))]
    cells[min(len(cells) - 1, round(mark * width))] = tick
    return "".join(cells)


def rule(title: str, width: int, right: str = "") -> Content:
    """Return a quiet rule with a title."""
    tail = f" {right} " if right else ""
    dashes = "─" * max(0, width - len(title) - len(tail) - 4)
    return text((f"── {fit(title, width - 4)} {dashes}", "$quiet"), (tail, "$soft")).truncate(width)
