"""Styled text that fits the room it is given: the width is kept, and what is left out shows."""

import pytest

from kilnctl.dashboard.drawing.text_layout import (
    bar,
    columns,
    first_that_fit,
    fit,
    rule,
    sentence,
    spread,
    text,
    thin_bar,
)


def test_what_is_missing_shows() -> None:
    assert fit("soaking", 7) == "soaking"
    assert fit("soaking", 4) == "soa…"
    assert first_that_fit(["door", "limit", "fan"], 12) == "door · limit"
    assert sentence("heat is off.") == sentence("heat is off") == "heat is off."
    assert sentence("") == ""


@pytest.mark.parametrize("width", [5, 12, 40])
def test_rows_keep_their_width(width: int) -> None:
    row = spread(text("tempering-oven SIMULATED"), text("02:29"), width)
    assert row.cell_length == width
    assert columns((("218", ""), ("°C", "")), (0, 3), width).cell_length <= width
    assert rule("keys", width, "page 1").cell_length <= width


@pytest.mark.parametrize(("share", "filled"), [(-1.0, 0), (0.0, 0), (0.5, 5), (1.0, 10), (7.0, 10)])
def test_a_bar_is_filled_by_its_share_and_never_past_its_ends(share: float, filled: int) -> None:
    drawn = bar(share, 12, plain=True)
    assert len(drawn) == 12
    assert drawn.count("#") == filled


def test_the_mark_stands_where_normal_ends() -> None:
    assert bar(0.1, 12, plain=True, mark=0.5) == "[#----|----]"
    assert thin_bar(0.5, 10, plain=True, mark=0.8) == "=====---|-"
