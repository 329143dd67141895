"""The jobs of the table: each returns one row of figures for one controller on one oven."""

import copy
from typing import Any

from kilnctl.control.heat_controller import HeatController
from kilnctl.model.oven_model import OvenModel
from simulator.oven.part import Part
from simulator.oven.plant import Plant
from tests.bench.control import rivals
from tests.bench.control.world import HARDENING, Case, Duty, fastest_s, figures, heat, job, ours

CHARGE_AFTER_S = 2400.0
DOOR_S = 8.0
CHARGE_KG = 0.5


def goals(family: str) -> tuple[int, ...]:
    """Return the goals that an oven of this family can be asked for."""
    return (218, 829, 871) if family in HARDENING else (218,)


def approach(case: Case, goal: int, duty: Duty, limit_s: float, **how: Any) -> dict[str, Any]:
    """Heat from cold and soak an hour."""
    plant, oven = case.plant(), case.file(how.get("contactor", False))
    if how.get("load_kg"):
        plant.part = Part(section_mm=12, mass_kg=how["load_kg"], at_c=plant.ambient_c)
        limit_s = fastest_s(plant, goal)
    rows, _ = heat(plant, oven, duty, job(goal), direct=how.get("direct", False))
    row = figures(rows, goal)
    seen = [abs(r.unexplained) for r in rows if r.unexplained is not None]
    return row | {
        "ratio": row["arrived_s"] / limit_s,
        "note": rows[-1].note,
        "unexplained": max(seen, default=0.0),
    }


def ramp(case: Case, model: OvenModel) -> dict[str, float]:
    """Follow 150 degC/h; the first ten minutes, in which element and sensor warm up, stand apart."""
    goal = 650 if case.family in HARDENING else 218
    oven = case.file()
    rows, _ = heat(case.plant(), oven, ours(HeatController(oven, model, True)), job(goal, 1800.0, 150.0))
    off = [r.true_c - r.setpoint_c for r in rows if r.setpoint_c < goal]
    late = off[600:]
    return {
        "ramp_rms_k": (sum(x * x for x in late) / len(late)) ** 0.5,
        "ramp_worst_k": max(abs(x) for x in late),
        "start_worst_k": max(abs(x) for x in off[:600]),
        "over_k": max(r.true_c for r in rows) - goal,
    }


def charge(case: Case, goal: int, duty: Duty) -> dict[str, float]:
    """Put a cold charge through the door in a settled soak; the limit is the fastest single pulse of heat."""
    when: dict[str, Any] = {}

    def disturb(at_s: float, plant: Plant) -> None:
        if "hot" not in when:
            if plant.sensor.junction_c > goal - 3:
                when["hot"] = at_s
            return
        since_s = at_s - when["hot"] - CHARGE_AFTER_S
        if since_s == 0:
            plant.door_open = True
        elif since_s == DOOR_S / 2:
            plant.part = Part(section_mm=10, mass_kg=CHARGE_KG, at_c=20.0)
        elif since_s == DOOR_S:
            plant.door_open = False
            when["shut"], when["plant"] = at_s, copy.deepcopy(plant)

    rows, _ = heat(case.plant(), case.file(), duty, job(goal, 6000.0), disturb)
    after = [r for r in rows if r.at_s > when["shut"]]
    out = [r.at_s for r in after if abs(r.true_c - goal) > 3.0]
    limit_s = recovery_limit_s(when["plant"], goal)
    seen = [r.unexplained for r in after if r.unexplained is not None]
    return {
        "over_k": max(r.true_c for r in after) - goal,
        "low_k": min(r.true_c for r in after) - goal,
        "ratio": (out[-1] - when["shut"]) / limit_s if out and limit_s else 1.0,
        "unexplained": max(seen, default=0.0),
    }


def recovery_limit_s(plant: Plant, goal: float) -> float:
    """Return the time back into goal - 3 K with the longest pulse whose coast does not pass goal + 3 K."""

    def peak(on_s: int) -> float:
        live = copy.deepcopy(plant)
        return max(_after(live, on_s, at) for at in range(1500))

    ceiling = max(goal + 3.0, peak(0))
    low, high = 0, 1500
    while high - low > 4:
        middle = (low + high) // 2
        low, high = (middle, high) if peak(middle) <= ceiling else (low, middle)
    live, below = copy.deepcopy(plant), False
    for at in range(4000):
        now = _after(live, low, at)
        if now < goal - 3.0:
            below = True
        elif below:
            return float(at)
    return 0.0


def _after(plant: Plant, on_s: int, at: int) -> float:
    plant.advance(1.0 if at < on_s else 0.0, 1.0)
    return plant.sensor.junction_c


def rules(case: Case, goal: int) -> dict[str, Duty]:
    """Return the textbook controllers, tuned on this oven at this temperature."""
    hot, duty = rivals.held(case.plant(), goal)
    ku, pu = rivals.swing(hot, goal, duty)
    k, t, late = rivals.step_test(hot, duty)
    return {
        "on/off": rivals.on_off(),
        "ZN": rivals.pid(rivals.zn(ku, pu), False),
        "ZN cond.": rivals.pid(rivals.zn(ku, pu), True),
        "SIMC": rivals.pid(rivals.simc(k, t, late), True),
        "AMIGO": rivals.pid(rivals.amigo(k, t, late), True),
    }
