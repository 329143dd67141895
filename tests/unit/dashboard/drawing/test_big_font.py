"""Letters that are read from across the shop."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kilnctl.dashboard.drawing.big_font import big, height_of, largest, width_of


@pytest.mark.parametrize("scale", [1, 2, 3, 5])
def test_big_letters_are_as_wide_and_tall_as_they_say(scale: int) -> None:
    rows = big("READY 1472°F", scale)
    assert {len(row) for row in rows} == {width_of("READY 1472°F", scale)}
    assert len(rows) == height_of(scale)


@pytest.mark.parametrize("scale", [2, 3, 5])
def test_strokes_of_large_letters_meet_by_more_than_a_corner(scale: int) -> None:
    """Squares that touch by a corner fall apart across the shop; common practice, no single source."""
    half = {"█": "##", "▀": "#.", "▄": ".#", " ": ".."}
    for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789°":
        rows = ["".join(half[cell][i] for cell in row) for row in big(letter, scale) for i in (0, 1)]
        squares = {up[x : x + 2] + low[x : x + 2] for up, low in pairwise(rows) for x in range(len(up) - 1)}
        assert not {"#..#", ".##."} & squares, letter


@pytest.mark.parametrize("scale", [2, 3, 5])
def test_a_degree_sign_is_a_ring(scale: int) -> None:
    """With its corners filled it was a lozenge."""
    half = {"█": "##", "▀": "#.", "▄": ".#", " ": ".."}
    rows = ["".join(half[cell][i] for cell in row) for row in big("°", scale) for i in (0, 1)]
    air = len(rows) - 7 * scale
    hole = [row[scale : 2 * scale] for row in rows[air + scale : air + 2 * scale]]
    assert set("".join(hole)) == {"."}


def test_no_two_letters_look_alike() -> None:
    """A 1 that looks like a 7 would be read wrongly from across the shop."""
    glyphs = [big(letter) for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789°:.-"]
    alike = {g for g in glyphs if glyphs.count(g) > 1} - {big("O")}
    assert not alike
    assert big("O") == big("0"), "the one pair that may be alike"


@given(st.integers(1, 400), st.integers(1, 100))
def test_the_largest_scale_fits_and_the_next_does_not(width: int, height: int) -> None:
    scale = largest("TRIPPED", width, height)
    assert scale == 1 or (width_of("TRIPPED", scale) <= width and height_of(scale) <= height)
    assert width_of("TRIPPED", scale + 1) > width or height_of(scale + 1) > height
