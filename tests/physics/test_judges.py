"""The judges of another build: their energy closes, their integration agrees with others, their limit is one.

Checked against scipy's `solve_ivp` (LSODA) and two closed forms of the textbook: a lump that warms by
convection (1 - exp(-t/tau)), and a slab between two temperatures in balance.
"""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from kilnctl.model.oven_model import OvenModel
from tests.bench.control.judges import jobs, table
from tests.bench.control.judges.driver import Heat, Tick, learn
from tests.bench.control.judges.families.named import EVERY_FAMILY
from tests.bench.control.judges.network import Network, Plan
from tests.bench.control.judges.oven import KINDS, JudgeOven, Kind, Module, fastest_s


def test_a_lump_warms_as_the_textbook_says():
    plan = Plan()
    plan.mass("lump", 500.0)
    plan.tie("lump", "room", w_k=2.0)
    plan.heated["lump"] = 1.0
    net = Network(plan, 20.0)
    for _ in range(500):
        net.step(100.0)
    assert net["lump"] - 20.0 == pytest.approx(50.0 * (1 - math.exp(-500 * 2 / 500)), rel=2e-3)


def test_a_wall_in_balance_passes_k_times_area_over_depth():
    """Between 200 and 20 degC, k = 0.2 (1 + 0.001 T): mean k at 110 degC."""
    plan = Plan()
    plan.mass("hot", 1e12)
    last, cell_m = "hot", 0.01
    for i in range(10):
        plan.mass(f"cell {i}", 100.0)
        plan.tie(last, f"cell {i}", w_k=0.2 / (cell_m if i else cell_m / 2), beta=1e-3)
        last = f"cell {i}"
    plan.tie(last, "room", w_k=0.2 / (cell_m / 2), beta=1e-3)
    net = Network(plan, 20.0)
    net.set_c("hot", 200.0)
    for _ in range(3000):
        net.step(0.0, 20.0)
    before_j = net.lost_j
    net.step(0.0, 20.0)
    assert (net.lost_j - before_j) / 20.0 == pytest.approx(0.2 * 1.11 / 0.1 * 180.0, rel=1e-3)


def test_a_lump_stands_still_while_it_melts_and_while_it_freezes():
    """Heat of melting over power is the time it stands (enthalpy balance, textbook)."""
    plan = Plan()
    plan.mass("lump", 500.0)
    plan.melts["lump"] = (140.0, 60_000.0)
    plan.heated["lump"] = 1.0
    plan.tie("lump", "room", w_k=0.0)
    net = Network(plan, 100.0)
    stood = sum(net.step(200.0) is None and abs(net["lump"] - 140.0) < 1e-6 for _ in range(600))
    assert stood == pytest.approx(60_000.0 / 200.0, abs=2)
    assert net["lump"] == pytest.approx(100.0 + (600 * 200.0 - 60_000.0) / 500.0, abs=0.5)
    frozen = sum(net.step(-200.0) is None and abs(net["lump"] - 140.0) < 1e-6 for _ in range(600))
    assert frozen == pytest.approx(stood, abs=2)
    assert net.stored_j() - 50_000.0 == pytest.approx(net.gained_j - net.lost_j, abs=1.0)


@pytest.mark.slow
@pytest.mark.parametrize(
    "family", ["open-coil", "fan-duct", "two-zones", "toaster", "switched-bank", "glowing-fibre", "cold-box"]
)
def test_the_integration_agrees_with_scipys(family):
    oven = JudgeOven(family, 9001, "check")
    net, power_w = oven.net, oven.build.power_w
    heat = np.zeros(len(net.names))
    for name, share in net.plan.heated.items():
        heat[net.at[name]] = share * power_w

    def rates(_t, temps_c):
        flow, _, _ = net.flows(np.append(temps_c, net.room_c))
        return (net._net @ flow + heat) / (net._c0 + net._c1 * temps_c)

    found = solve_ivp(rates, (0.0, 600.0), net.temps_c[:-1].copy(), method="LSODA", rtol=1e-7, atol=1e-4)
    for _ in range(600):
        net.step(power_w)
    sensor = net.at["sensor"]
    rise_k = found.y[sensor, -1] - net.room_c
    assert rise_k > 20.0
    assert net.temps_c[sensor] == pytest.approx(found.y[sensor, -1], abs=max(0.3, 0.005 * rise_k))


@pytest.mark.slow
@pytest.mark.parametrize("family", EVERY_FAMILY)
def test_energy_closes_through_heat_coast_door_and_charge(family):
    oven = JudgeOven(family, 9002, "check")
    net, started_j = oven.net, oven.net.stored_j()
    for t in range(450):
        if t == 250:
            oven.door_open = True
        if t == 260:
            oven.door_open = False
        oven.step(float(t < 225 or t > 350), 1.0)
    assert net.gained_j > 1e5
    assert net.gained_j - net.lost_j == pytest.approx(net.stored_j() - started_j, rel=1e-3)
    before_j = net.stored_j() - net.gained_j + net.lost_j
    oven.put(1.0)
    taken_in_j = net.stored_j() - net.gained_j + net.lost_j - before_j
    for _ in range(150):
        oven.step(0.0, 1.0)
    left_j = net.stored_j() - net.gained_j + net.lost_j - before_j
    assert left_j == pytest.approx(taken_in_j, abs=2e-3 * net.gained_j)


def test_families_differ_in_their_structure_and_by_their_seeds():
    plans = EVERY_FAMILY
    assert len(plans) >= 10
    shapes = {f: frozenset((t.a, t.b) for t in JudgeOven(f, 1).net.plan.ties) for f in plans}
    # Element law, mains, water, module and controller are not seen in the ties: those share the plain build.
    assert len(set(shapes.values())) >= len(plans) - 8
    assert all(JudgeOven(f, 1).build.power_w != JudgeOven(f, 2).build.power_w for f in plans)
    assert {JudgeOven(f, s).kind_name for f in plans for s in range(3)} == {*KINDS, "late"}


def test_a_late_module_tells_what_was_so_in_halves_of_a_kelvin():
    module = Module(Kind(1e-9, 0.5, 2, late_s=6.0), "late")
    shown = [module.shown_c for at in range(40) if module.see(20.0 + at, 1.0) is None]
    assert shown[20] == shown[21] == 20.0 + 20 - 6


def test_still_air_turns_over_once_it_is_hot_above_and_lies_still_again():
    oven = JudgeOven("still-air", 1, "x")
    turned = []
    for _ in range(700):
        oven.step(1.0, 1.0)
        turned.append(oven.net.plan.tied("air", "low air").w_k > 10.0)
    assert not turned[0]
    assert 1 < sum(a != b for a, b in pairwise(turned)) < 400


def test_a_bounded_current_gives_a_cold_heater_little_and_begins_anew_after_a_pause():
    oven = JudgeOven("bounded-current", 1, "x")
    first_w = oven.heat_w(1.0)
    oven.advance(1.0, 10.0)
    cold_w = oven.heat_w(1.0)
    oven.advance(1.0, 600.0)
    assert first_w == 0.0
    assert cold_w < 0.6 * oven.heat_w(1.0) < oven.build.power_w
    oven.advance(0.0, 1.0)
    assert oven.heat_w(1.0) == 0.0


def test_an_oven_looked_ahead_with_leaves_the_oven_and_its_noise_alone():
    oven, twin = JudgeOven("open-coil", 3, "x"), JudgeOven("open-coil", 3, "x")
    for _ in range(30):
        oven.clone().step(1.0, 1.0)
        oven.step(1.0, 1.0)
        twin.step(1.0, 1.0)
    assert (oven.true_c, oven.module.shown_c) == (twin.true_c, twin.module.shown_c)


def test_a_door_that_a_clone_shuts_stays_open_in_the_oven():
    oven = JudgeOven("open-coil", 3, "x")
    oven.door_open = True
    oven.step(1.0, 1.0)
    open_w_k = oven.net.plan.tied("air", "room").w_k
    for _ in range(3):
        ahead = oven.clone()
        ahead.door_open = False
        ahead.step(1.0, 1.0)
        assert 0.0 < ahead.net.plan.tied("air", "room").w_k < open_w_k
    assert oven.net.plan.tied("air", "room").w_k == open_w_k


@pytest.mark.parametrize("name", KINDS)
def test_each_sensor_module_shows_the_truth_in_the_mean(name):
    module, shown = Module(KINDS[name], "check"), []
    for _ in range(3000):
        module.see(217.3, 1.0)
        shown.append(module.shown_c)
    assert sum(shown) / len(shown) == pytest.approx(217.3, abs=0.06)
    assert len(set(shown)) > 1


@pytest.mark.slow
def test_the_limit_arrives_and_two_seconds_later_a_cut_passes_the_ceiling():
    limit_s = fastest_s(JudgeOven("light-fibre", 9003, "check"), 218.0)
    assert 60.0 < limit_s < 1500.0
    assert fastest_s(JudgeOven("light-fibre", 9003, "check"), 218.0, 6.0) < limit_s + 1.0
    assert fastest_s(JudgeOven("light-fibre", 9003, "check"), 218.0, 0.5) > limit_s - 1.0


@pytest.mark.slow
def test_a_controller_that_waits_for_the_goal_is_seen_to_fail():
    """Full heat until the sensor shows the goal: what every judge must be able to see."""
    oven = JudgeOven("open-coil", 9004, "check")
    while oven.true_c < 218.0:
        oven.step(1.0, 1.0)
    for _ in range(600):
        oven.step(0.0, 1.0)
    assert oven.peak_blade_c > 218.0
    highest = max(_coasted(family) for family in ("open-coil", "thick-tube", "light-fibre"))
    assert highest > 20.0


def _coasted(family):
    oven, peak_c = JudgeOven(family, 9004, "check"), 0.0
    while oven.true_c < 218.0:
        oven.step(1.0, 1.0)
    for _ in range(400):
        oven.step(0.0, 1.0)
        peak_c = max(peak_c, oven.true_c)
    return peak_c - 218.0


@pytest.mark.slow
def test_a_learned_oven_of_another_build_reaches_a_temper():
    model = learn("light-fibre", 2)
    assert isinstance(model, OvenModel)
    row = jobs.approach("light-fibre", 2, 218, model)
    assert row["trip"] == ""
    assert row["over_k"] < 3.0
    assert row["ratio"] < 1.5
    assert abs(row["offset_k"]) < 1.0


def test_a_heat_that_is_tripped_counts_as_never_there():
    """It stood at its goal all the time, and was tripped at the end; the judge must not praise it."""
    ticks = [Tick(float(at), 218.0, 218.0, 1, heat_on=False) for at in range(1300)]
    for tripped in ("", "energy_balance: half of it is missing"):
        row = jobs.figures(Heat(ticks, None, tripped, ""), 218, 600.0)
        assert math.isinf(row["ratio"]) is bool(tripped)


@pytest.mark.parametrize("family", ["light-fibre", "thick-tube"])
def test_a_warm_oven_reads_what_was_asked_two_minutes_after_its_heat_and_is_warmer_inside(family):
    oven, again = jobs.warmed(family, 9005, 165.0), jobs.warmed(family, 9005, 165.0)
    assert 164.0 < oven.true_c < 175.0
    assert oven.true_c == again.true_c
    assert oven.at_s % jobs.PULSED_S == 0.0
    cold_j = JudgeOven(family, 9005, "warm 165").net.stored_j()
    assert oven.net.gained_j - oven.net.lost_j == pytest.approx(oven.net.stored_j() - cold_j, rel=1e-3)
    course = [oven.step(0.0, 1.0) or oven.true_c for _ in range(900)]
    assert max(course) < jobs.WARM_GOAL_C  # what it does by itself never passes the goal


def test_from_warm_one_goal_is_set_and_all_others_at_every_goal(tmp_path):
    folder = table.Folder(tmp_path)
    what = table.missing(folder, "embedded", 1, ["heat", "warm", "warm not learned"], (218, 829))
    assert [(name, goal) for _, name, goal in what] == [
        ("heat", 218),
        ("warm", 218),
        ("warm not learned", 218),
        ("heat", 829),
    ]


def test_a_slow_controller_rises_falls_and_cuts_back_while_its_fins_are_hot():
    oven = JudgeOven("slow-firing", 1, "x")
    habit = oven.build.habit
    shares = [habit.passes(oven.net, 1.0, 1.0) for _ in range(3000)]
    assert shares[0] < 0.3
    assert max(shares) == 1.0
    assert shares[-1] <= 1.0
    hot = replace(habit, fins_k=90.0, cuts_k=50.0)
    assert [hot.passes(oven.net, 1.0, 1.0) for _ in range(3000)][-1] < 0.7
    assert 0.0 < hot.clone().passes(oven.net, 0.0, 1.0) < 1.0


def test_a_warping_door_lets_go_in_jerks_and_a_hot_fan_stops_and_starts():
    for family, place in (("warping-door", ("draught", "room")), ("stalling-fan", ("element", "air"))):
        oven, seen = JudgeOven(family, 1, "x"), []
        for _ in range(2400):
            oven.step(float(oven.true_c < 260.0), 1.0)
            seen.append(oven.net.plan.tied(*place).w_k)
        moves = sum(a != b for a, b in pairwise(seen))
        assert 1 <= moves < 60
        assert max(seen) > 1.2 * min(seen)


def test_a_row_that_breaks_the_bench_says_so_and_the_others_go_on(tmp_path, monkeypatch):
    good = {"over_k": 0.5, "ratio": math.inf, "settled_k": 9.0, "trip": "wire", "note": ""}
    folder = table.Folder(tmp_path)
    monkeypatch.setattr(folder, "row", lambda name, *_: good if name == "contactor" else 1 // 0)
    what = table.missing(folder, "fan-duct", 1, ["heat", "contactor"], (218, 829))
    table.measure(folder, "fan-duct", 1, what)
    text = folder.tell()
    assert "- fan-duct 1, heat, 218: broke: ZeroDivisionError" in text
    assert "- fan-duct 1, contactor, 218: ratio inf; trip: wire" in text  # and it has not settled
    again = table.Folder(tmp_path)
    assert again.rows == folder.rows
    assert not table.missing(again, "fan-duct", 1, ["heat", "contactor"], (218, 829))


def test_a_first_look_goes_on_where_it_was_begun_and_nowhere_else(tmp_path, monkeypatch):
    monkeypatch.setattr(table, "LOOKS", tmp_path / "looks.json")
    folder = table.Folder(tmp_path / "one")
    folder.keep("heat|218|fan-duct|1", {"refused": "not learned"})
    assert table.count("fan-duct 1", "first look") == 1
    table.refuse_known(["fan-duct 1", "fan-duct 2"], folder)
    with pytest.raises(SystemExit, match="not a first look at fan-duct 1"):
        table.refuse_known(["fan-duct 1", "fan-duct 2"], table.Folder(tmp_path / "other"))
