"""The oven model: conservation, steady state, the implicit step against scipy, its cost in constants."""

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from kilnctl.config.oven import load_oven
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import (
    OvenModel,
    OvenState,
    advance,
    at_rest,
    holding_duty,
    lost,
    sensor_c,
)

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/hardening-furnace.toml")
BUILDS = ("brick", "fibre", "heavy", "leaky", "fan")


def model_of(build):
    return nameplate(OVEN.model_copy(update={"build": build}))


def run(model, state, duty, seconds, dt_s=1.0, ambient_c=20.0):
    for _ in range(round(seconds / dt_s)):
        state = advance(model, state, duty, ambient_c, dt_s)
    return state


def stored(model, state):
    shares = (1 / 15, 2 / 15, 4 / 15, 8 / 15)
    walls = sum(model.wall * s * t for s, t in zip(shares, state.nodes[2:6], strict=True))
    return model.element * state.element_c + model.face * state.face_c + walls + model.load * state.load_c


def test_an_oven_at_room_temperature_stays_there():
    assert run(model_of("brick"), at_rest(20.0), 0.0, 600) == pytest.approx(at_rest(20.0))


@pytest.mark.parametrize("build", BUILDS)
def test_without_a_way_out_all_heat_is_stored(build):
    """Energy balance: one full-power second per second, nothing else."""
    shut = replace(model_of(build), leak=0.0, wall_conductance=1e-6)
    state = run(shut, at_rest(20.0), 1.0, 900)
    assert stored(shut, state) - stored(shut, at_rest(20.0)) == pytest.approx(900.0, rel=2e-3)


@pytest.mark.parametrize("build", ["brick", "leaky"])
def test_the_step_agrees_with_an_independent_integrator(build):
    """Same equations written out anew for scipy's solve_ivp (Radau, tight tolerance)."""
    m = model_of(build)
    c = m.wall / 15
    capacity = np.array([m.element, m.face, c, 2 * c, 4 * c, 8 * c, m.load])

    def slope(_t, y):
        e, f, w1, w2, w3, w4, load, sheath, junction = y
        k = (np.array([e, f, load]) + 273.15) / 1000
        q_ef = m.element_radiation * (k[0] ** 4 - k[1] ** 4) + m.element_linear * (e - f)
        q_fl = m.load_radiation * (k[1] ** 4 - k[2] ** 4) + m.load_linear * (f - load)
        chain = [f, w1, w2, w3, w4, 20.0]
        q = [
            m.wall_conductance * g * (1 + m.wall_gain * (a + b) / 2000) * (a - b)
            for g, a, b in zip((30, 10, 5, 2.5, 3.75), chain, chain[1:], strict=False)
        ]
        net = [1 - q_ef, q_ef - q_fl - q[0] - m.leak * (f - 20), *(-np.diff(q)), q_fl]
        glow = k[1] ** 4 + m.sees_element * (k[0] ** 4 - k[1] ** 4) - ((sheath + 273.15) / 1000) ** 4
        air = f + m.warm_air * (e - f)
        d_sheath = (air - sheath + 250 * m.sheath_radiation * glow) / m.sheath_s
        return [*(np.array(net) / capacity), d_sheath, (sheath - junction) / m.junction_s]

    exact = solve_ivp(slope, (0, 1500), [20.0] * 9, method="Radau", rtol=1e-8, atol=1e-6).y[:, -1]
    for dt_s, close_k in ((1.0, 0.3), (5.0, 1.0)):
        ours = run(m, at_rest(20.0), 1.0, 1500, dt_s)
        assert np.max(np.abs(np.array(ours.nodes) - exact)) < close_k


def test_the_holding_duty_holds():
    m = model_of("brick")
    duty = holding_duty(m, 600.0, 20.0)
    state = run(m, at_rest(600.0, 20.0), duty, 400_000, dt_s=20.0)
    assert state.face_c == pytest.approx(600.0, abs=2.0)


def test_heat_lost_by_the_face_in_the_steady_state_is_the_heat_given():
    m = model_of("leaky")
    state = run(m, at_rest(20.0), 0.3, 100_000, dt_s=20.0)
    assert lost(m, state, 20.0) == pytest.approx(0.3, abs=1e-4)


def test_a_long_step_stays_bounded():
    state = advance(model_of("fibre"), at_rest(20.0), 1.0, 20.0, 36_000.0)
    assert all(math.isfinite(t) and 20.0 <= t < 3000.0 for t in state.nodes)


def test_it_survives_json():
    m = model_of("heavy")
    assert OvenModel.from_dict(json.loads(json.dumps(m.to_dict()))) == m


def test_scaling_the_lag_slows_the_sensor_and_nothing_else():
    m = model_of("brick")
    slow, fast = m.scaled(lag=2.0), m
    a, b = run(slow, at_rest(20.0), 1.0, 300), run(fast, at_rest(20.0), 1.0, 300)
    assert a.face_c == b.face_c
    assert sensor_c(a) < sensor_c(b)


def test_a_hot_start_grades_the_wall():
    state = at_rest(800.0, 20.0)
    assert isinstance(state, OvenState)
    assert state.face_c > state.wall_1_c > state.wall_2_c > state.wall_3_c > state.wall_4_c > 20.0


def test_an_oven_of_an_unknown_build_begins_with_the_shortest_pulse():
    """The first pulse is worth so many seconds of full heat for each kelvin: what stores least."""
    stores = {build: m.element + m.face + m.load for build in BUILDS for m in [model_of(build)]}
    unknown = model_of("unknown")
    assert unknown.element + unknown.face + unknown.load == min(stores.values())
