"""States, degrees and times as a screen writes them."""

import dataclasses

import pytest
from dashboard.feed import heating, hot, tripped

from kilnctl.dashboard import formatting
from kilnctl.dashboard.drawing.big_font import width_of
from kilnctl.dashboard.panels.big_band import band_starts


def test_every_state_has_letters_and_fits_the_smallest_band() -> None:
    for face in [*formatting.FACES.values(), formatting.UNKNOWN]:
        assert "?" not in face.big
        plate = 2 if face.style == "call" else 0
        assert width_of(face.big) + plate <= band_starts(80, 1, "1088")[1] - 1, face.big


def test_states_have_different_shapes() -> None:
    """Colour alone says nothing: the shape differs wherever the meaning does; lateness keeps its own."""
    late = formatting.LATE.values()
    shapes = [face.shape for name, face in formatting.FACES.items() if name not in late]
    plain = [face.plain for name, face in formatting.FACES.items() if name not in late]
    assert len(set(shapes)) == len(shapes)
    assert len(set(plain)) == len(plain)
    assert all(ord(c) < 128 for c in plain)


def test_degrees_keep_points_differences_and_rates_apart() -> None:
    """218 degC = 424.4 degF; a difference of 10 K is 18 degF, not 50; 150 K/h is 270 degF/h."""
    f = formatting.Degrees("F")
    assert f.point(218.0, 1) == "424.4 °F"
    assert f.difference(10.0) == "+18.0 °F"
    assert f.rate(150.0) == "270 °F/h"
    assert formatting.Degrees().number(None) == "---"


@pytest.mark.parametrize(
    ("seconds", "said"),
    [(0, "0 s"), (59.6, "60 s"), (110, "110 s"), (599, "10 min"), (600, "10 min"),
     (3569, "59 min"), (3571, "1 h 00 min"), (7500, "2 h 05 min"), (None, "--"), (-5, "0 s")],
)  # fmt: skip
def test_times_left(seconds: float | None, said: str) -> None:
    assert formatting.left(seconds) == said


def test_clock_times_count_in_scaled_time() -> None:
    s = dataclasses.replace(heating(), time_scale=60.0)
    assert formatting.later_time(s, 3600.0) == formatting.clock_time("2026-03-01T13:15:00+00:00")


def test_the_limit_line_is_the_one_that_trips_first() -> None:
    """A furnace for 1100 degC that is to hold 140 trips at 155: that line does not squeeze the heat flat."""
    assert formatting.limit_in_force_c(heating()) == 815.0
    assert formatting.limit_in_force_c(dataclasses.replace(heating(), interlocks=())) == 1100.0
    assert formatting.limit_in_force_c(tripped()) == 815.0
    assert formatting.limit_in_force_c(hot()) == 1100.0, "the plan's limit has gone with the plan"
    reset = dataclasses.replace(tripped(), trip="")  # the screen said "oven limit 135 · oven limit 260"
    assert formatting.limit_in_force_c(reset) == 1100.0
    wide = dataclasses.replace(heating().interlocks[0], limit=1300.0)
    assert formatting.limit_in_force_c(dataclasses.replace(heating(), interlocks=(wide,))) == 1100.0


def test_after_a_trip_an_old_picture_of_off_proves_nothing() -> None:
    """Red letters, as the words beside them say: once they were amber over "CUT THE POWER NOW"."""
    over = dataclasses.replace(hot(), heat_on=False)
    assert formatting.old_face(over).style == "soon"
    assert formatting.old_face(tripped()).style == "urgent"


def test_words_of_the_controller_come_in_one_unit_and_in_ascii_without_a_hole() -> None:
    said = "cool to 45 °C (113 °F) in 9 min"
    assert formatting.in_one_unit(said, formatting.Degrees("F")) == "cool to 113 °F in 9 min"
    assert formatting.in_one_unit(said, formatting.Degrees("C", "")) == "cool to 45 C in 9 min"
