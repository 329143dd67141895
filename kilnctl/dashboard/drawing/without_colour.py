"""The screen without colours, for who asks for none: the terminal's own ink on its own ground."""

from functools import lru_cache

from rich.color import Color as Ink
from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.filter import LineFilter

# Lightness of a ground that marks a choice: a button, a row of a list, a plate. The chart's band is darker.
LIGHT = 0.25
REVERSE = Style(reverse=True)


class WithoutColour(LineFilter):
    """Takes every colour away and keeps what weighs: bold, and reversed where the ground was light."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """Return the same line without colours."""
        return [Segment(s.text, s.style and bare(s.style), s.control) for s in segments]


@lru_cache(maxsize=256)
def bare(style: Style) -> Style:
    """Return a style without its colours, of a look that is light on dark."""
    ground = style.color if style.reverse else style.bgcolor
    without = style.without_color
    if style.meta:  # what a click does, which the library drops with the colours
        without += Style.from_meta(style.meta)
    if style.reverse or (ground is not None and _light(ground)):
        return without + REVERSE
    return without


def _light(ground: Ink) -> bool:
    return not ground.is_default and max(ground.get_truecolor()) / 255.0 > LIGHT
