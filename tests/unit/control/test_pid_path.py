"""The PID path from word to word: full heat, coast, hold, ramp; and the table by which it cuts."""

from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.control import pid_path
from kilnctl.control.control_io import ControlInput
from kilnctl.control.pid_path import PidPath, lead_table
from kilnctl.control.pid_tuning import tangent
from kilnctl.model.coast import Outlook
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance, at_rest, holding_duty
from tests.unit.control.test_heat_controller import look

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/hardening-furnace.toml")
MODEL = nameplate(OVEN)
PLAN_C = 400.0


class Heat:
    """A path on the model's own oven, or on temperatures that the test sets."""

    def __init__(self, learned: bool = True) -> None:
        self.path, self.at_s = PidPath(OVEN, MODEL, learned), 0.0
        self.plant = at_rest(OVEN.ambient_c)

    def see(self, process_c: float, plan_c: float | None = PLAN_C, **more: Any) -> float:
        seen: ControlInput = look(self.at_s, process_c, plan_c, **more)
        self.at_s += 1.0
        return self.path.step(seen)

    def heat_until(self, mode: str, seconds: int = 20_000) -> float:
        """Run on the model until a mode; return the sensor's temperature then."""
        for _ in range(seconds):
            duty = self.see(self.plant.junction_c)
            if self.path.mode == mode:
                return self.plant.junction_c
            self.plant = advance(MODEL, self.plant, duty, OVEN.ambient_c, 1.0)
        raise AssertionError(f"{mode} never came, it is {self.path.mode}")


def test_full_heat_ends_where_the_coast_of_the_model_just_reaches_the_goal() -> None:
    heat = Heat()
    cut_c = heat.heat_until("coast")
    peak_c = Outlook(MODEL, heat.plant, OVEN.ambient_c).peak_c(0.0)
    assert cut_c < PLAN_C - 1.0
    assert peak_c == pytest.approx(PLAN_C, abs=0.5)


def test_an_oven_that_is_not_learned_is_cut_earlier_by_a_factor() -> None:
    learned_k = PLAN_C - Heat().heat_until("coast")
    guessed_k = PLAN_C - Heat(learned=False).heat_until("coast")
    assert guessed_k == pytest.approx(pid_path._GUESS_COAST * learned_k, rel=0.15)


def test_it_heats_fully_then_not_at_all_then_holds() -> None:
    heat = Heat()
    assert (heat.see(20.0), heat.path.mode) == (1.0, "approach")
    heat.heat_until("coast")
    assert heat.see(heat.plant.junction_c) == 0.0
    heat.heat_until("hold")
    for _ in range(3600):
        duty = heat.see(heat.plant.junction_c)
        heat.plant = advance(MODEL, heat.plant, duty, OVEN.ambient_c, 1.0)
    assert heat.plant.junction_c == pytest.approx(PLAN_C, abs=2.0)
    assert duty == pytest.approx(holding_duty(MODEL, PLAN_C, OVEN.ambient_c), abs=0.1)


def coasting(seconds: int, slope_k_per_s: float, end_c: float) -> Heat:
    """Return a path that has been coasting at a slope for so long and stands now at end_c."""
    heat = Heat()
    heat.path.mode = "coast"
    for s in range(seconds):
        heat.see(end_c - slope_k_per_s * (seconds - 1 - s))
    return heat


@pytest.mark.parametrize(
    ("seconds", "rest_k", "end_c", "mode"),
    [
        (61, 0.0, 380.0, "hold"),  # calm, and long enough off
        (60, 0.0, 380.0, "coast"),
        (61, 0.8, 380.0, "hold"),  # as good as calm when new heat arrives
        (61, 1.2, 380.0, "coast"),  # still rising
        (40, 0.8, PLAN_C - 0.9, "hold"),  # there already
        (40, 0.8, PLAN_C - 1.1, "coast"),
        (61, 1.2, PLAN_C + 1.0, "coast"),  # above and rising: no heat
    ],
)
def test_the_hold_begins_when_what_is_left_of_the_coast_is_over_before_new_heat_arrives(
    seconds: int, rest_k: float, end_c: float, mode: str
) -> None:
    _, delay_s = tangent(MODEL, PLAN_C, OVEN.ambient_c)
    assert coasting(seconds, rest_k / delay_s, end_c).path.mode == mode


def test_an_oven_that_has_coasted_is_held_from_what_holds_it() -> None:
    held = holding_duty(MODEL, PLAN_C, OVEN.ambient_c)
    calm = coasting(61, 0.0, PLAN_C - 2.0)
    assert calm.see(PLAN_C - 2.0) == pytest.approx(held, abs=0.01)


def test_what_falls_far_below_the_goal_is_heated_fully_again_and_what_falls_a_little_is_held() -> None:
    far_k = 2 * pid_path._APPROACH_K
    for gap_k, mode in ((far_k, "hold"), (far_k + 0.1, "approach")):
        heat = Heat()
        heat.path.mode = "hold"
        heat.see(PLAN_C - gap_k)
        assert heat.path.mode == mode


def test_a_start_near_the_goal_is_a_hold() -> None:
    heat = Heat()
    assert heat.see(PLAN_C - 0.4) < 1.0
    assert heat.path.mode == "hold"
    heat.see(PLAN_C, heat_wanted=False)
    assert heat.path.mode == "off"
    assert heat.see(20.0, None) == 0.0


def test_a_ramp_is_followed_with_what_lifts_the_oven_beside_what_holds_it() -> None:
    ramp: dict[str, Any] = {"setpoint_rate_c_per_h": 360.0, "segment_kind": "ramp"}
    duties = {}
    for rate in (0.0, 0.1):
        heat = Heat()
        heat.see(PLAN_C, preview=lambda ahead_s, r=rate: PLAN_C + r * ahead_s, **ramp)
        assert heat.path.mode == "ramp"
        heat.path.take_over(0.3, look(0.0, PLAN_C, PLAN_C))
        first = heat.path._bias(look(1.0, PLAN_C, PLAN_C, **ramp), PLAN_C)
        duties[rate] = heat.path._bias(
            look(1.0, PLAN_C, PLAN_C, preview=lambda ahead_s, r=rate: PLAN_C + r * ahead_s, **ramp), PLAN_C
        )
        assert first == pytest.approx(holding_duty(MODEL, PLAN_C, OVEN.ambient_c))
    mass = MODEL.element + MODEL.face + MODEL.load + 0.3 * MODEL.wall
    assert duties[0.1] - duties[0.0] == pytest.approx(0.1 * mass / MODEL.power)


def test_of_a_guess_only_a_share_is_fed_forward() -> None:
    seen = look(0.0, PLAN_C, PLAN_C)
    learned, guessed = Heat().path._bias(seen, PLAN_C), Heat(learned=False).path._bias(seen, PLAN_C)
    assert guessed == pytest.approx(pid_path._GUESS_SHARE * learned)
    assert Heat().path._bias(look(0.0, 1e4, 1e4), 1e4) == 0.9  # something is left for the integral


def test_a_flowing_duty_is_taken_over_without_a_bump() -> None:
    heat = Heat()
    heat.path.take_over(0.42, look(0.0, PLAN_C - 3.0, PLAN_C))
    assert heat.see(PLAN_C - 3.0) == pytest.approx(0.42, abs=0.01)
    heat.path.take_over(0.7, look(0.0, PLAN_C, None))  # nothing to hold: nothing changes
    assert heat.see(PLAN_C - 3.0) == pytest.approx(0.42, abs=0.01)


def test_an_open_door_freezes_the_integral() -> None:
    heat = Heat()
    heat.path.take_over(0.4, look(0.0, PLAN_C, PLAN_C))
    for _ in range(600):
        heat.see(PLAN_C - 10.0, door_open=True)
    assert heat.see(PLAN_C) == pytest.approx(0.4, abs=0.02)


def test_the_table_is_coast_over_slope_along_a_heat_up() -> None:
    table = lead_table(MODEL, OVEN.ambient_c, OVEN.limit_c)
    assert table[0][0] >= OVEN.ambient_c + 20.0
    assert all(b >= a + max(15.0, 0.08 * a) for (a, _), (b, _) in pairwise(table))
    state, at_s, past = at_rest(OVEN.ambient_c), 0.0, [OVEN.ambient_c]
    seen = {}
    for at_c, lead_s in table:
        while state.junction_c < at_c - 1e-9:
            state = advance(MODEL, state, 1.0, OVEN.ambient_c, 5.0)
            past.append(state.junction_c)
            at_s += 5.0
        slope = (past[-1] - past[-7]) / 30.0
        seen[at_c] = (Outlook(MODEL, state, OVEN.ambient_c).peak_c(0.0) - at_c) / slope
        assert lead_s == pytest.approx(seen[at_c])


def test_between_the_rows_of_the_table_it_is_read_evenly() -> None:
    path = PidPath(OVEN, MODEL, True)
    path._leads = [(100.0, 40.0), (200.0, 60.0)]
    assert [path._lead_s(c) for c in (50.0, 100.0, 150.0, 200.0, 900.0)] == [40.0, 40.0, 50.0, 60.0, 60.0]


def test_an_oven_that_cannot_be_heated_has_a_table_of_one_row() -> None:
    lame = MODEL.scaled(power=1e-6)
    assert lead_table(lame, 20.0, 1100.0) == [(20.0, 60.0)]


def test_the_slope_is_that_of_half_a_minute() -> None:
    path = PidPath(OVEN, MODEL, True)
    for s in range(100):
        path._watch(100.0 + 0.2 * s, 1.0)
    assert path._slope == pytest.approx(0.2)
    for _ in range(45):
        path._watch(119.8, 1.0)
    assert path._slope == pytest.approx(0.0, abs=1e-3)
