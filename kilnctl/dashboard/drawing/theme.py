"""Colours. Grey while all is well; colour only for what is abnormal, and never without a word and a shape.

The lines of the curve are greys with a tint, told apart by their dashes.

No green anywhere, and red, amber and blue differ in lightness too, so that red-green blindness loses nothing;
whatever needs attention is also shown reversed, which survives a terminal without colours.
"""

from textual.theme import Theme

# name: (dark, light, monochrome)
_VARIABLES = {
    "quiet": ("#92979d", "#55595e", "#9c9c9c"),  # axes, rules, what is done
    "soft": ("#aeb3b8", "#3f4449", "#c4c4c4"),  # labels
    "strong": ("#e8eaed", "#101214", "#ffffff"),  # values
    "measured": ("#ffffff", "#000000", "#ffffff"),
    "goal": ("#b1bac3", "#3c4f60", "#d0d0d0"),
    "part": ("#b6ada0", "#5c4c34", "#b0b0b0"),
    "ahead": ("#8f979f", "#53595f", "#9a9a9a"),
    "band": ("#33383d", "#c9cdd1", "#303030"),  # ground of the predicted band
    "limit": ("#b99f9f", "#704646", "#ffffff"),
    "call": ("#e8eaed", "#101214", "#ffffff"),  # a person is needed: no fault, so no colour
    "urgent": ("#ff8075", "#b3160c", "#ffffff"),
    "soon": ("#f2c14e", "#644600", "#ffffff"),
    "later": ("#7db8e8", "#0f5590", "#ffffff"),
}
# In 16 colours amber becomes a yellow that nobody can read on white, and the greys one that is too pale.
_LIGHT_SIXTEEN = {
    **dict.fromkeys(_VARIABLES, "#000000"),
    "urgent": "#aa0000",
    "later": "#0000aa",
    "band": "#c0c0c0",
}
_GROUND = (("#1d1f21", "#26292c"), ("#e6e8e9", "#dcdedf"), ("#000000", "#000000"))
NAMES = ("kilnctl dark", "kilnctl light", "kilnctl mono")


def themes(sixteen: bool = False) -> list[Theme]:
    """Return the three looks: dark, light, and white on black without any other colour.

    `sixteen` is True for a terminal of 16 colours.
    """
    return [_theme(i, name, sixteen and i == 1) for i, name in enumerate(NAMES)]


def _theme(i: int, name: str, light_sixteen: bool) -> Theme:
    colours = {key: shades[i] for key, shades in _VARIABLES.items()}
    ground, panel = _GROUND[i]
    if light_sixteen:
        colours, ground, panel = dict(_LIGHT_SIXTEEN), "#ffffff", "#ffffff"
    return Theme(
        name=name,
        primary=colours["soft"],
        secondary=colours["quiet"],
        foreground=colours["strong"],
        background=ground,
        surface=ground,
        panel=panel,
        warning=colours["soon"],
        error=colours["urgent"],
        success=colours["later"],
        accent=colours["soft"],
        dark=i != 1,
        variables=colours,
    )
