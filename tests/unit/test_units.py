"""Unit traps: points, differences and rates are different quantities, and a bare number is none of them.

Conversions are those of the definition of the degree Fahrenheit (exact, NIST SP 811: C = (F - 32) / 1.8).
"""

import contextlib
import datetime
import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kilnctl import units
from kilnctl.errors import UnitError

PARSERS = (units.parse_point_c, units.parse_difference_k, units.parse_rate_c_per_h, units.parse_duration_s)
NO_POINTS = [
    "42O F",
    "218 C 425 F",
    "218 K",
    "",
    "C",
    "nan C",
    "inf C",
    "2,18 C",
    "--5 C",
    "-300 C",
    True,
    None,
]


@pytest.mark.parametrize(
    ("text", "point_c"),
    [
        ("425F", 218.333),
        ("425 F", 218.333),
        ("1526F", 830.0),
        ("830F", 443.333),
        ("218F", 103.333),
        ("218 C", 218.0),
        ("218C", 218.0),
        ("218 °C", 218.0),
        ("-10 C", -10.0),
        ("32 F", 0.0),
        ("-40 F", -40.0),
    ],
)
def test_points(text: str, point_c: float) -> None:
    assert units.parse_point_c(text) == pytest.approx(point_c, abs=0.001)


def test_a_bare_temperature_is_refused_with_both_readings() -> None:
    for bare in (425, 425.0, "425"):
        with pytest.raises(UnitError, match=r"425 C.*797\.0 F.*425 F.*218\.3 C"):
            units.parse_point_c(bare)


@pytest.mark.parametrize(
    "text",
    ["42O F", "218 C 425 F", "218 K", "", "C", "nan C", "inf C", "2,18 C", "--5 C", "-300 C", True, None, []],
)
def test_what_is_no_temperature_is_refused(text: object) -> None:
    with pytest.raises(UnitError):
        units.parse_point_c(text)


def test_a_difference_is_not_converted_like_a_point() -> None:
    assert units.parse_difference_k("18 F") == pytest.approx(10.0)  # never (18 - 32) / 1.8
    assert units.parse_difference_k("10 C") == 10.0
    assert units.parse_difference_k("10 K") == 10.0


def test_rates_per_hour_and_per_minute() -> None:
    assert units.parse_rate_c_per_h("150 C/h") == 150.0
    assert units.parse_rate_c_per_h("270 F/h") == pytest.approx(150.0)
    assert units.parse_rate_c_per_h("2.5 C/min") == 150.0
    for bad in ("150", "150 C", "150 h", 150):
        with pytest.raises(UnitError):
            units.parse_rate_c_per_h(bad)


@pytest.mark.parametrize(
    ("text", "seconds"), [("2h", 7200), ("2h 30min", 9000), ("90 s", 90), ("1.5 h", 5400), ("2hours", 7200)]
)
def test_durations(text: str, seconds: float) -> None:
    assert units.parse_duration_s(text) == seconds


@pytest.mark.parametrize("text", ["2:00", "2", 120, "", "2 m", "30min 2h", "2h 2h", "h", "-2h"])
def test_what_is_no_duration_is_refused(text: object) -> None:
    with pytest.raises(UnitError):
        units.parse_duration_s(text)


def test_other_quantities() -> None:
    assert units.parse_power_w("2.4 kW") == 2400.0
    assert units.parse_length_mm("0.25 in") == pytest.approx(6.35)
    assert units.parse_mass_kg("300 g") == pytest.approx(0.3)


@given(st.floats(-273.0, 3000.0))
def test_a_point_survives_the_way_through_fahrenheit(c: float) -> None:
    assert math.isclose(units.c_from_f(units.f_from_c(c)), c, abs_tol=1e-9)


@given(st.text())
def test_no_text_gets_past_as_anything_but_a_finite_number_or_a_refusal(text: str) -> None:
    for parse in (
        units.parse_point_c,
        units.parse_difference_k,
        units.parse_rate_c_per_h,
        units.parse_duration_s,
    ):
        with contextlib.suppress(UnitError):
            assert math.isfinite(parse(text))


def test_words() -> None:
    assert units.say_point(218.333) == "218 °C (425 °F)"
    assert units.say_duration(7) == "7 s"
    assert units.say_duration(7500) == "2 h 05 min"


# An inch is 25.4 mm exactly (international yard and pound, 1959); drawings write it in fractions.
@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1/4 in", 6.35),
        ("1/4in", 6.35),
        ('1/4"', 6.35),
        ("3/16 inch", 4.7625),
        ("1 1/2 in", 38.1),
        ("1-1/2 in", 38.1),
        ('0.25"', 6.35),
        ("2 inches", 50.8),
    ],
)
def test_inches_and_their_fractions(text: str, mm: float) -> None:
    assert units.parse_length_mm(text) == pytest.approx(mm, rel=1e-12)


@pytest.mark.parametrize("text", ["1/0 in", "1/4", "1/4 mm", "/4 in", "1//4 in", "5/4/2 in", "1/-4 in"])
def test_no_fraction_is_guessed(text: str) -> None:
    with pytest.raises(UnitError, match="1/4 in"):
        units.parse_length_mm(text)


def test_rates_are_said_in_both_scales_and_differences_are_not_offset() -> None:
    assert units.say_rate(150.0) == "150 °C/h (270 °F/h)"


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (datetime.date(2026, 11, 30), "2026-11-30, which is a date,"),
        (datetime.datetime(2026, 11, 30, 7, 32), "2026-11-30T07:32:00, which is a date,"),
        (datetime.time(7, 32), "07:32:00, which is a time of day,"),
        (True, "true"),
    ],
)
@pytest.mark.parametrize(
    ("read", "what"),
    [
        (units.parse_point_c, "temperature"),
        (units.parse_duration_s, "duration"),
        (units.parse_power_w, "power"),
        (units.parse_difference_k, "temperature difference"),
    ],
)
def test_what_toml_takes_for_a_date_is_shown_as_it_was_written(
    read: Callable[[object], float], what: str, value: object, shown: str
) -> None:
    with pytest.raises(UnitError) as said:
        read(value)
    assert "datetime" not in str(said.value)
    assert shown in str(said.value)
    assert what in str(said.value)
