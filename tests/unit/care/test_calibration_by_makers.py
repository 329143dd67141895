"""Calibration as makers can do it: ice and boiling water, one point, near points; and what it is good for.

Ice point 0 °C (ITS-90); boiling point from pressure (IAPWS saturation as printed in steam tables: 99.6 °C at
1000 hPa). The uncertainty of a line through two uncertain points is checked by drawing ten thousand lines.
"""

import json
import math
import random
import re
import statistics
from pathlib import Path

import pytest

from kilnctl.care.calibration import fitted, insist, limit_of_error_k, why_unsound
from kilnctl.cli.main import run
from kilnctl.errors import ConfigError
from kilnctl.logbook.entries import Calibration

ICE, BOIL = (0.9, 0.0), (98.1, 97.4)


def entry(*points: tuple[float, float]) -> Calibration:
    """Return the entry of a calibration by these points."""
    found = fitted(points)
    return Calibration("o", "process", found.gain, found.offset_c, points, 0.5, None, "ref")


@pytest.mark.parametrize("at_c", [20.0, 97.0, 205.0, 260.0])
def test_the_error_of_a_line_is_that_of_ten_thousand_drawn_lines(at_c: float) -> None:
    dice, found = random.Random(5), []
    for _ in range(10_000):
        low, high = (point + dice.uniform(-0.5, 0.5) for point in (0.0, 97.4))
        found.append(low + (high - low) / 97.4 * at_c)
    drawn = statistics.stdev(found) * 3.0**0.5  # as the half-width of a rectangle with that deviation
    assert limit_of_error_k(((0.0, 0.0), (97.4, 97.4)), at_c) == pytest.approx(max(drawn, 0.5), rel=0.03)


def test_ice_and_boiling_water_serve_a_tempering_oven_but_no_furnace() -> None:
    insist(entry(ICE, BOIL), 260.0, 260.0)
    found = fitted((ICE, BOIL))
    assert found.corrected_c(0.9) == pytest.approx(0.0)
    assert found.corrected_c(98.1) == pytest.approx(97.4)
    with pytest.raises(ConfigError, match="--used-to"):
        insist(entry(ICE, BOIL), 1000.0, 1100.0)


def test_near_points_serve_near_them() -> None:
    near = ((200.0, 199.0), (250.0, 249.2))
    insist(entry(*near), 260.0, 260.0)
    assert fitted(near).shift_k(225.0) == pytest.approx(-0.9)
    with pytest.raises(ConfigError, match="--used-to"):
        insist(entry(*near), 800.0, 800.0)
    with pytest.raises(ConfigError, match="10 K apart"):
        fitted(((200.0, 199.0), (205.0, 204.0)))


def test_one_point_shifts_and_grows_uncertain_away_from_it() -> None:
    found = fitted(((219.5, 218.0),))
    assert found.gain == 1.0
    assert found.corrected_c(219.5) == pytest.approx(218.0)
    points = ((219.5, 218.0),)
    assert limit_of_error_k(points, 219.5) < limit_of_error_k(points, 260.0) < limit_of_error_k(points, 800.0)
    with pytest.raises(ConfigError, match="replace the sensor"):
        insist(entry((240.0, 218.0)), 260.0, 260.0)


@pytest.mark.parametrize("point", [(94.5, 100.0), (100.0, 91.0), (219.5, 218.0)])
def test_one_point_far_below_the_use_is_refused_as_two_are(point: tuple[float, float]) -> None:
    """Class 2 of IEC 60584-1 leaves a K couple's slope unknown to 0.75 %: 8 K from 100 to 1100 degC."""
    with pytest.raises(ConfigError, match="hotter point"):
        insist(entry(point), 1100.0, 1100.0)
    insist(entry(point), 260.0, 260.0)


def test_one_point_is_good_near_itself_and_neither_far_above_nor_far_below() -> None:
    """0.75 % of 610 K (class 2 of IEC 60584-1) and the reference's own: 6 K off at a temper of 200 degC."""
    assert not why_unsound(entry((814.0, 810.0)), 800.0, 1100.0)
    assert "hotter point" in why_unsound(entry((814.0, 810.0)), 1100.0, 1100.0)
    assert "colder point too" in why_unsound(entry((814.0, 810.0)), 200.0, 1100.0)
    assert not why_unsound(entry((219.5, 218.0), (834.0, 830.0)), 200.0, 1100.0)


def test_a_line_that_is_harmless_in_use_may_not_move_the_limit_itself() -> None:
    """Four per cent: 8 K at 200 degC, 44 K where the furnace has to be cut off."""
    assert "replace the sensor" in why_unsound(entry((20.0, 20.8), (200.0, 208.0)), 220.0, 1100.0)


def calibrated(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = run(["care", "calibrate", "tempering-oven", "process", *words])
    shown = capsys.readouterr()
    return code, " ".join(shown.out.split()), shown.err


@pytest.mark.usefixtures("own_home")
def test_ice_and_boiling_water_through_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    words = ("--ice", "0.9 C", "--boiling", "98.1 C at 700 m", "--reference", "ice and water")
    code, out, _ = calibrated(capsys, *words)
    assert code == 0
    assert "at 205 °C (401 °F)" in out  # a temperature of use, with its shift and error
    assert "-0." in out


@pytest.mark.usefixtures("own_home")
@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--ice", "0.9 C"), "--boiling"),
        (("--ice", "0.9 C", "--boiling", "98 C"), "98.1 C at 650 m"),
        (("--ice", "0.9 C", "--boiling", "98 C at home"), "does not say where"),
        (("--ice", "0.9 C", "--boiling", "98 C at 938"), "does not say where"),
        (("--ice", "0.9 C", "--boiling", "98 C at 20 hPa"), "not an air pressure"),
        (("--low", "1 C is 0 C", "--ice", "0.9 C"), "either"),
        ((), "give what was measured"),
        (("--at", "219.5 C is 218.0 C", "--low", "1 C is 0 C"), "either"),
    ],
)
def test_half_a_calibration_is_refused(
    words: tuple[str, ...], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, err = calibrated(capsys, *words, "--reference", "glass")
    assert code == 2
    assert says in err


@pytest.mark.usefixtures("own_home")
def test_a_survey_is_listed_with_its_hot_and_cold_place(capsys: pytest.CaptureFixture[str]) -> None:
    places = {"front left": 214, "front right": 216, "middle": 218, "back left": 221, "back right": 219}
    at = [word for place, c in places.items() for word in ("--at", f"{place} = {c} C")]
    assert run(["care", "survey", "tempering-oven", "218 C", *at]) == 0
    capsys.readouterr()
    assert run(["care", "due", "tempering-oven"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "hottest back left +3.0 K" in shown
    assert "coldest front left -4.0 K" in shown
    assert "orientation" in shown


def test_what_the_certificate_leaves_open_counts_and_is_kept(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A reference good to 2.5 K makes no sensor better than that (JCGM 100:2008, 5.1.2: the parts add)."""
    words = ("--at", "219.5 C is 218.0 C", "--reference", "K sensor 3")
    code, out, _ = calibrated(capsys, *words)
    assert code == 0
    assert "at 205 °C (401 °F) -1.5 K, ± 1.6 K" in out  # 1.5 K as nobody said, and the slope of 14.5 K away
    code, out, _ = calibrated(capsys, *words, "--reference-error", "2.5 K")
    assert code == 0
    within_k = float(out.split("at 205 °C (401 °F) -1.5 K, ± ")[1].split()[0])
    assert within_k == pytest.approx(math.hypot(2.5, 1.0) + 0.0075 * 14.5, abs=0.05)
    assert "K sensor 3, ±2.5 K" in out
    assert run(["figure", "uncertainty", "219.5C", "K", "--oven", "tempering-oven", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["sensor"] == pytest.approx(math.hypot(2.5, 1.0), abs=0.01)
    code, _, err = calibrated(capsys, *words, "--reference-error", "4 K")
    assert code == 2
    assert "corrects nothing" in err


def test_boiling_water_by_the_days_pressure_is_known_better_than_by_height(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("--ice", "0.4 C", "--reference", "ice and water", "--used-to", "230 C")
    found = {}
    for place in ("700 m", "931.9 hPa"):  # the same air, in usual weather
        code, out, _ = calibrated(capsys, *words, "--boiling", f"97.0 C at {place}")
        assert code == 0
        shown = re.findall(r"100 °C \(212 °F\) ([+-][\d.]+) K, ± ([\d.]+) K", out)
        found[place] = [float(x) for x in shown[0]]
    assert found["700 m"][0] == pytest.approx(found["931.9 hPa"][0], abs=0.11)
    assert found["700 m"][1] == pytest.approx(1.0, abs=0.15)  # 0.5 K and 30 hPa of weather
    assert found["931.9 hPa"][1] == pytest.approx(0.5, abs=0.05)
