"""Duty to relay from both sides of each number: what a mutation of switching and window must not survive."""

from pathlib import Path

import pytest

from kilnctl.config.oven import Switching, load_oven
from kilnctl.control import switching_window as window
from kilnctl.control.switching_window import longest_window_s, ripple_k
from kilnctl.control.time_proportioning import SwitchState, advance_switch, times_of
from kilnctl.model.coast import Outlook
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance, at_rest

FILE = {"kind": "contactor", "window": "40 s", "min_on": "4 s", "min_off": "6 s"}
SWITCHING = times_of(Switching.model_validate(FILE))
OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/hardening-furnace.toml")
MODEL = nameplate(OVEN)


def moved(duty: float, dt_s: float = 1.0, window_s: float | None = None, **state: float) -> SwitchState:
    """Return the state one tick after a given one."""
    return advance_switch(SWITCHING, SwitchState(**state), duty, dt_s, window_s)[0]


def test_a_relay_begins_off_owes_nothing_and_may_close_at_once() -> None:
    fresh = SwitchState()
    assert (fresh.on, fresh.owed_s, fresh.closures, fresh.per_hour) == (False, 0.0, 0, 0.0)
    assert moved(1.0).on


@pytest.mark.parametrize(("since_s", "on"), [(5.9, False), (6.0, True)])
def test_full_heat_waits_for_the_least_off_time(since_s: float, on: bool) -> None:
    assert moved(1.0, since_s=since_s).on is on


# Half of a swing of 40 s * 0.5 * 0.5 = 10 s; half a tick of duty early where it closes.
@pytest.mark.parametrize(("owed_s", "on"), [(4.74, False), (4.75, True)])
def test_it_closes_when_half_a_swing_is_owed(owed_s: float, on: bool) -> None:
    assert moved(0.5, owed_s=owed_s).on is on
    assert not moved(0.5, owed_s=owed_s, since_s=5.9).on


@pytest.mark.parametrize(("owed_s", "on"), [(-4.99, True), (-5.0, False)])
def test_it_opens_when_half_a_swing_is_given(owed_s: float, on: bool) -> None:
    assert moved(0.5, on=True, owed_s=owed_s).on is on
    assert moved(0.5, on=True, owed_s=owed_s, since_s=3.9).on
    assert moved(0.5, on=True, owed_s=owed_s, since_s=4.0).on is on


def test_the_least_times_make_the_swing_longer_at_the_ends() -> None:
    # at 5 %: 4 s * 0.95 = 3.8 s beats 40 * 0.05 * 0.95 = 1.9 s; at 95 %: 6 s * 0.95 = 5.7 s
    assert not moved(0.05, owed_s=1.87).on
    assert moved(0.05, owed_s=1.88).on
    assert moved(0.95, on=True, owed_s=-2.84).on
    assert not moved(0.95, on=True, owed_s=-2.86).on


def test_another_window_counts_where_it_is_given() -> None:
    assert not moved(0.5, owed_s=4.75, window_s=80.0).on
    assert moved(0.5, owed_s=9.75, window_s=80.0).on


def test_heat_owed_is_kept_and_bounded_by_half_a_swing_and_a_least_time() -> None:
    assert moved(0.3, dt_s=2.0, since_s=0.0).owed_s == pytest.approx(0.6)
    assert moved(0.3, dt_s=2.0, on=True, since_s=0.0).owed_s == pytest.approx(-1.4)
    # half of 6 s * 0.9, and 6 s; half of 40 s * 0.1 * 0.9, and 6 s
    assert moved(0.9, since_s=0.0, owed_s=8.6).owed_s == pytest.approx(8.7)
    assert moved(0.1, on=True, since_s=0.0, owed_s=-7.7).owed_s == pytest.approx(-7.8)
    # a tick that is longer than both counts too; and a longer window, half of 80 s * 0.25, owes more
    assert moved(0.1, dt_s=9.0, on=True, since_s=0.0, owed_s=-5.0).owed_s == pytest.approx(-10.8)
    assert moved(0.5, since_s=0.0, owed_s=15.4, window_s=80.0).owed_s == pytest.approx(15.9)
    assert moved(0.5, since_s=0.0, owed_s=15.9, window_s=80.0).owed_s == pytest.approx(16.0)
    assert moved(-1.0, owed_s=1.0).owed_s == 1.0


def test_time_since_the_last_move_and_closures_are_counted() -> None:
    closed = moved(1.0, dt_s=2.0)
    assert (closed.since_s, closed.closures) == (2.0, 1)
    still = advance_switch(SWITCHING, closed, 1.0, 2.0)[0]
    assert (still.since_s, still.closures) == (4.0, 1)
    opened = advance_switch(SWITCHING, still, 0.0, 2.0)[0]
    assert (opened.on, opened.since_s, opened.closures) == (False, 2.0, 1)


def test_the_rate_of_closures_fades_over_half_an_hour() -> None:
    assert moved(0.0, per_hour=60.0).per_hour == pytest.approx(60.0 * (1 - 1 / 1800))
    assert moved(1.0, per_hour=60.0).per_hour == pytest.approx(60.0 * (1 - 1 / 1800) + 2.0)
    assert moved(0.0, dt_s=3600.0, per_hour=60.0).per_hour == 0.0


def warm() -> Outlook:
    return Outlook(MODEL, at_rest(400.0, 20.0), 20.0)


@pytest.mark.parametrize("duty", [0.0, 0.01, 0.99, 1.0])
def test_at_the_ends_of_the_duty_no_window_is_lengthened(duty: float) -> None:
    assert longest_window_s(warm(), duty, 30.0) == 30.0


def test_the_ripple_is_that_of_a_pulse_a_window_followed_finely() -> None:
    for duty, window_s in ((0.3, 90.0), (0.6, 60.0)):
        even = pulsed = at_rest(400.0, 20.0)
        swing_k = []
        for tick in range(round(3 * window_s)):
            even = advance(MODEL, even, duty, 20.0, 1.0)
            pulsed = advance(MODEL, pulsed, float(tick % window_s < duty * window_s), 20.0, 1.0)
            if tick >= 2 * window_s:
                swing_k.append(pulsed.junction_c - even.junction_c)
        expected_k = (max(swing_k) - min(swing_k)) / 2
        assert ripple_k(warm(), duty, window_s) == pytest.approx(expected_k, rel=0.05)


@pytest.mark.parametrize(
    ("spares_k", "long_k", "taken"),
    [(0.35, 0.35, "LONG"), (0.35, 0.351, "SPARES"), (0.7, 0.9, "SPARES"), (0.1, 0.1, "LONG")],
)
def test_the_longest_window_that_the_ripple_bears_is_taken(
    monkeypatch: pytest.MonkeyPatch, spares_k: float, long_k: float, taken: str
) -> None:
    assert (window._LITTLE_K, window._WORST_K) == (0.35, 0.7)
    ripples = {window._SPARES_S: spares_k, window._LONG_S: long_k}
    monkeypatch.setattr(window, "ripple_k", lambda _o, _d, window_s: ripples[window_s])
    assert longest_window_s(warm(), 0.5, 30.0) == getattr(window, f"_{taken}_S")
    assert longest_window_s(warm(), 0.5, window._LONG_S) == window._LONG_S  # its own is as long
