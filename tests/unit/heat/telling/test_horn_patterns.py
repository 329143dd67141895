"""Horn and lamp: every call sounds different, and an acknowledged horn falls silent."""

import math

import pytest

from kilnctl.heat.telling.horn_patterns import PATTERNS, attention, call_for
from kilnctl.heat.trend import Trend
from kilnctl.profile.segments import Operator, Soak

SOAK = Soak(at="830 C", time="15min")
QUENCH = Operator(step="quench", say="quench now", hold="830 C", at_most="10min")


@pytest.mark.parametrize(
    ("left_s", "call"), [(900.0, ""), (601.0, ""), (600.0, "early"), (120.0, "soon"), (1.0, "soon")]
)
def test_a_step_that_comes_is_told_ten_and_two_minutes_before(left_s: float, call: str) -> None:
    assert call_for(False, SOAK, QUENCH, left_s, 0.0) == call


@pytest.mark.parametrize(("waited_s", "call"), [(0.0, "ready"), (299.0, "ready"), (300.0, "late")])
def test_a_step_that_waits_is_ready_then_late(waited_s: float, call: str) -> None:
    assert call_for(False, QUENCH, None, None, waited_s) == call


def test_a_soak_that_no_person_follows_is_silent_and_a_trip_never_is() -> None:
    assert call_for(False, SOAK, None, 10.0, 0.0) == ""
    assert call_for(True, None, None, None, 0.0) == "trip"


def test_every_call_sounds_different() -> None:
    heard = {call: tuple(attention(call, t, False).horn for t in range(60)) for call in PATTERNS}
    assert len(set(heard.values())) == len(PATTERNS)
    assert not any(heard[""])


def test_an_acknowledged_horn_is_silent_and_its_lamp_stays() -> None:
    assert not any(attention("trip", t, True).horn for t in range(60))
    assert any(attention("trip", t, True).lamp for t in range(60))


def test_a_trend_is_the_rise_and_the_heat_of_the_last_minute() -> None:
    trend = Trend()
    for second in range(200):
        trend.see(float(second), 20.0 + 0.1 * second, second % 2 == 0, 1.0)
    rise_k, duty = trend.value
    assert rise_k == pytest.approx(6.0, abs=0.2)
    assert duty == pytest.approx(0.5, abs=0.03)


def test_an_oven_that_coasts_is_not_idle_and_one_that_goes_on_as_fast_is() -> None:
    trend, warm_c = Trend(), 20.0
    for second in range(300):
        rate = 0.1 if second < 120 else 0.1 * math.exp(-(second - 120) / 60.0)  # a lag of a minute
        warm_c += rate
        trend.see(float(second), warm_c, second < 120, 1.0)
        rise_k, heat = trend.value
        assert rise_k <= 3.0 or second < 60 or heat >= 0.02
    other = Trend()
    for second in range(300):
        other.see(float(second), 20.0 + 0.1 * second, second < 120, 1.0)
    assert other.value == (pytest.approx(6.0, abs=0.2), 0.0)
