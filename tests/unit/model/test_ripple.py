"""The swing of a relay, against the same pulses walked second by second for an hour."""

from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance, holding_duty
from kilnctl.model.ripple import in_soaks, swing_k

FURNACE = load_oven(Path(__file__).parents[3] / "profiles/ovens/hardening-furnace.toml")
LIGHT = replace(nameplate(FURNACE.model_copy(update={"build": "fibre"})), sheath_s=20.0, face=0.15)


@pytest.mark.parametrize("more", [0.0, 0.01, 0.02])
@pytest.mark.parametrize("window_s", [15.0, 30.0, 60.0])
def test_it_is_what_an_hour_of_pulses_shows(window_s, more):
    """Of a duty of whole thirtieths and of any other: pulses rounded up drift, which is no swing."""
    soaked, duty = in_soaks(LIGHT, 829.0, 20.0)[0]
    duty, even = round(30 * duty) / 30 + more, soaked
    pulsed = soaked
    for second in range(3600):
        even = advance(LIGHT, even, duty, 20.0, 1.0)
        pulsed = advance(LIGHT, pulsed, min(max(duty * window_s - second % window_s, 0.0), 1.0), 20.0, 1.0)
        if second == 3600 - window_s:
            off_k = [pulsed.junction_c - even.junction_c]
        elif second > 3600 - window_s:
            off_k.append(pulsed.junction_c - even.junction_c)
    half_k = (max(off_k) - min(off_k)) / 2
    for windows in (3, 12):
        assert swing_k(LIGHT, soaked, 20.0, duty, window_s, windows) == pytest.approx(half_k, rel=0.1)


def test_a_soak_is_looked_at_soaked_through_and_while_its_walls_still_drink():
    soaked, drinks = in_soaks(LIGHT, 829.0, 20.0)
    assert soaked[1] == pytest.approx(holding_duty(LIGHT, 829.0, 20.0), rel=1e-6)
    assert drinks[1] == pytest.approx(1.5 * soaked[1], rel=1e-6)
    assert soaked[0].element_c > soaked[0].face_c > 700.0
    assert in_soaks(LIGHT, 1400.0, 20.0)[1][1] <= 1.0
