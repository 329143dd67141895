"""Judges' ovens with other walls, switches of their own and a box that comes in cold: what is theirs alone.

Checked against scipy's `solve_ivp` with an event where the oven switches, and
the textbook's diffusion of radiation.
"""

import copy

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from tests.bench.control.judges.network import SIGMA, Network, Plan
from tests.bench.control.judges.oven import JudgeOven


@pytest.mark.parametrize("family", ["toaster", "switched-bank", "blown-sand"])
def test_what_an_oven_switches_itself_agrees_with_scipys_and_closes_in_energy(family):
    """Scipy finds the moment by an event; what changes there is written here anew, from the plan alone."""
    oven = JudgeOven(family, 9003, "check")
    net, power_w, habit = oven.net, oven.build.power_w, oven.build.habit
    switches_c = habit.starts_c if family == "blown-sand" else habit.opens_c
    names, after = net.names, copy.deepcopy(net.plan)
    heats = [np.array([net.plan.heated.get(n, 0.0) for n in names]) * power_w] * 2
    if family == "blown-sand":
        for place in habit.of:
            after.tied(*place).w_k *= habit.factor
        after.tied("core", "room").w_k += habit.stream_w_k
    else:
        off = "element" if family == "toaster" else "second bank"
        heats[1] = np.where(np.array(names) == off, 0.0, heats[0])

    def reaches(_t, temps_c):
        return temps_c[names.index(habit.by)] - switches_c

    reaches.terminal = True
    cold, how = Network(copy.deepcopy(net.plan), net.room_c), {"method": "LSODA", "rtol": 1e-7, "atol": 1e-4}
    first = solve_ivp(_rates(cold, heats[0]), (0.0, 9000.0), cold.temps_c[:-1], events=reaches, **how)
    assert first.status == 1
    then = solve_ivp(_rates(Network(after, net.room_c), heats[1]), (0.0, 40.0), first.y[:, -1], **how)
    started_j, state = net.stored_j(), [0.0]
    for _ in range(round(first.t[-1]) + 40):
        net.step(habit.passes(net, 1.0, 1.0) * power_w)
        state.append(getattr(habit, "blows" if family == "blown-sand" else "opened"))
    assert state.index(True) == pytest.approx(first.t[-1], abs=max(3.0, 0.01 * first.t[-1]))
    assert net.gained_j - net.lost_j == pytest.approx(net.stored_j() - started_j, rel=1e-3)
    apart_k = [abs(a - b) for a, b in zip(net.temps_c[:-1], then.y[:, -1], strict=True)]
    assert max(k for n, k in zip(names, apart_k, strict=True) if "element" not in n) < 4.0
    assert apart_k[names.index("sensor")] < 1.5


def _rates(net, heat_w):
    def rates(_t, temps_c):
        flow, _, _ = net.flows(np.append(temps_c, net.room_c))
        return (net._net @ flow + heat_w) / (net._c0 + net._c1 * temps_c)

    return rates


def test_a_fibre_that_glows_passes_four_thirds_of_a_free_path_of_the_radiation():
    """Diffusion of radiation (Rosseland; textbook): 4 sigma / 3 x free path / depth x (Th^4 - Tc^4)."""
    plan, path_m, cell_m = Plan(), 7e-4, 0.005
    plan.mass("hot", 1e12)
    last = "hot"
    for i in range(8):
        plan.mass(f"cell {i}", 100.0)
        plan.tie(last, f"cell {i}", glow=4 * SIGMA * path_m / 3 / (cell_m if i else cell_m / 2))
        last = f"cell {i}"
    plan.tie(last, "room", glow=4 * SIGMA * path_m / 3 / (cell_m / 2))
    net = Network(plan, 20.0)
    net.set_c("hot", 829.0)
    for _ in range(3000):
        net.step(0.0, 20.0)
    before_j = net.lost_j
    net.step(0.0, 20.0)
    wanted_w = 4 * SIGMA * path_m / 3 / (8 * cell_m) * (1102.15**4 - 293.15**4)
    assert (net.lost_j - before_j) / 20.0 == pytest.approx(wanted_w, rel=1e-3)


def test_a_glowing_fibre_insulates_far_worse_when_it_is_hot():
    """Loss per kelvin at 829 over that at 218 degC: 4.6 by the cube, 1 where nothing glows."""
    oven, per_k = JudgeOven("glowing-fibre", 1, "x"), []
    for hot_c in (218.0, 829.0):
        net = Network(oven.net.own_plan(), 20.0)
        net.plan.masses["face"] = (1e12, 0.0)
        net.changed()
        net.set_c("face", hot_c)
        for _ in range(2000):
            net.step(0.0, 60.0)
        into = [i for i, t in enumerate(net.plan.ties) if t.a == "face" and t.b.startswith("cell")]
        per_k.append(sum(float(net.flows(net.temps_c)[0][i]) for i in into) / (hot_c - 20.0))
    assert 2.0 < per_k[1] / per_k[0] < 4.6


def test_a_box_comes_in_with_its_charge_and_both_are_cold():
    oven = JudgeOven("cold-box", 1, "x")
    oven.advance(1.0, 600.0)
    hot_j = oven.net.stored_j()
    assert oven.net["box"] > 60.0
    oven.put(1.0)
    assert oven.net["box"] == oven.net["within"] == oven.net["charge"] == 20.0
    assert hot_j - oven.net.stored_j() > 1e4
    plain = JudgeOven("open-coil", 1, "x")
    plain.advance(1.0, 100.0)
    warm_c = plain.net["air"]
    plain.put(1.0)
    assert plain.net["air"] == warm_c


def test_a_charge_in_blown_sand_is_taken_in_and_out_without_a_wrong_exchange():
    oven = JudgeOven("blown-sand", 1, "x")
    calm_w_k, still_w_k = (oven.net.plan.tied("core", to).w_k for to in ("blade", "room"))
    oven.net.temps_c[:-1] = 218.0
    oven.step(0.0, 1.0)
    assert oven.net.plan.tied("core", "blade").w_k == pytest.approx(calm_w_k * oven.build.habit.factor)
    stream_w_k = oven.net.plan.tied("core", "room").w_k - still_w_k
    assert stream_w_k == pytest.approx(oven.build.habit.stream_w_k)  # cold air in, warm air out
    oven.put(1.0)
    oven.put(0.0)
    oven.net.temps_c[:-1] = 20.0
    oven.step(0.0, 1.0)
    assert oven.net.plan.tied("core", "blade").w_k == pytest.approx(calm_w_k)
    assert oven.net.plan.tied("core", "charge").w_k == 0.0
    assert oven.net.plan.tied("core", "room").w_k == pytest.approx(still_w_k)


def test_a_clone_that_switches_leaves_the_oven_as_it_was():
    oven = JudgeOven("switched-bank", 2, "x")
    oven.step(1.0, 1.0)
    ahead = oven.clone()
    ahead.net.set_c("bimetal", 500.0)
    ahead.step(1.0, 1.0)
    assert ahead.net.plan.heated["second bank"] == 0.0 < oven.net.plan.heated["second bank"]
    before_j = oven.net.gained_j
    oven.net.step(1000.0)
    assert oven.net.gained_j - before_j == pytest.approx(1000.0)
