"""Who asks for no colour gets the terminal's own ink and ground, and still sees what weighs."""

from rich.style import Style

from kilnctl.dashboard.drawing.without_colour import bare


def test_no_colour_is_left_and_a_light_ground_becomes_reversed() -> None:
    text, plate, button, band = (
        bare(Style.parse(words))
        for words in (
            "bold #ffffff on #000000",
            "reverse #ffffff on #000000",
            "#000000 on #e8eaed",
            "on #303030",
        )
    )
    assert not any(style.color or style.bgcolor for style in (text, plate, button, band))
    assert [bool(style.reverse) for style in (text, plate, button, band)] == [False, True, True, False]
    assert text.bold


def test_what_a_click_does_is_kept() -> None:
    style = Style.parse("bold #ffffff on #000000") + Style.from_meta({"@click": "app.off"})
    assert bare(style).meta == {"@click": "app.off"}
