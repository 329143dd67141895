"""The jobs that the judges set, each a row of figures; the columns are those of RESULTS.md."""

import math
from itertools import pairwise
from typing import Any

from kilnctl.model.oven_model import OvenModel
from kilnctl.profile.segments import Profile
from simulator.boards.board import Board
from tests.bench.control.judges.driver import Heat, Tick, file_for, run
from tests.bench.control.judges.oven import JudgeOven, fastest_s

SOAK_S, BAND_K = 1800.0, 3.0
CHARGE_KG, DOOR_S, SHORTEST_S = 0.5, 8.0, 120.0
# After so long a soak is settled; the person of a step answers so long after opening the door.
SETTLED_S, ANSWERED_S = 1500.0, 20.0
# A warm oven reads so much after an even duty, in pulses of a relay, and so long without heat; its goal.
WARM_C, EVEN, PULSED_S, STOOD_S, WARM_GOAL_C = (140.0, 165.0, 190.0), 0.35, 20, 120, 218
# What heats so slowly by that duty stays where it is.
LONGEST_WARMING_S = 20_000
Row = dict[str, Any]


def job(goal_c: float, rate_c_per_h: float | None = None, soak_s: float = SOAK_S) -> Profile:
    """Return ramp and soak; the band is wide, so that the soak's clock runs whatever the controller does."""
    segments = _ramp(goal_c, rate_c_per_h), _soak(goal_c, soak_s)
    return Profile.model_validate({"name": "judge", "segment": segments})


def _ramp(goal_c: float, rate_c_per_h: float | None = None) -> Row:
    rate = {"rate": f"{rate_c_per_h} C/h"} if rate_c_per_h else {}
    return {"kind": "ramp", "to": f"{goal_c} C"} | rate


def _soak(goal_c: float, soak_s: float) -> Row:
    return {"kind": "soak", "at": f"{goal_c} C", "time": f"{soak_s} s", "band": "100 K"}


def can_reach(family: str, seed: int) -> tuple[int, ...]:
    """Return the goals that are asked of an oven."""
    return (218, 829) if JudgeOven(family, seed).build.file == "hardening-furnace" else (218,)


def approach(
    family: str, seed: int, goal: int, model: OvenModel | None, limit_s: float | None = None, **how: Any
) -> Row:
    """Heat from cold, soak half an hour. `how` may say lag, volts, kg, contactor, rate, pid."""
    oven = day(family, seed, goal, **how)
    file = file_for(oven, contactor=how.get("contactor", False), pid=how.get("pid", False))
    limit_s = limit(family, seed, goal, **how) if limit_s is None else limit_s
    row = figures(run(oven, file, job(goal, how.get("rate")), model), goal, limit_s)
    return row | {"skin_k": oven.peak_blade_c - goal}


def limit(family: str, seed: int, goal: int, **how: Any) -> float:
    """Return the time-optimal limit of such a heat; none where a rate is asked."""
    return math.nan if how.get("rate") else fastest_s(day(family, seed, goal, **how), goal)


def day(family: str, seed: int, goal: int, **how: Any) -> JudgeOven:
    """Return the oven of a heat: mains and noise are its own, the same with every controller."""
    own = {k: how[k] for k in sorted(how) if k in ("lag", "volts", "kg")}
    oven = JudgeOven(family, seed, f"heat {goal} {own}", lag=how.get("lag", 1.0), volts=how.get("volts", 1.0))
    if how.get("kg"):
        oven.put(how["kg"], bright=seed % 2 == 0)
    return oven


def warm(family: str, seed: int, model: OvenModel | None) -> Row:
    """Heat an oven that is warm already to 218 degC, from three temperatures: the worst of three figures.

    What was given before is stored in it, and comes on top of what is given now. The limit starts there too.
    """
    rows = []
    for from_c in WARM_C:
        oven = warmed(family, seed, from_c)
        limit_s = max(fastest_s(oven, WARM_GOAL_C), SHORTEST_S)
        heat = run(oven, file_for(oven), job(WARM_GOAL_C), model)
        rows.append(figures(heat, WARM_GOAL_C, limit_s) | {"from_c": from_c})
    worst = max(rows, key=lambda row: row["over_k"])
    highest = {c: max(row[c] for row in rows) for c in ("ratio", "settled_k", "closures_h")}
    offset = {"offset_k": max((row["offset_k"] for row in rows), key=abs)}
    told = {c: "; ".join(f"from {r['from_c']:.0f}: {r[c]}" for r in rows if r[c]) for c in ("trip", "note")}
    return worst | highest | offset | told


def warmed(family: str, seed: int, reads_c: float) -> JudgeOven:
    """Return an oven that an even duty has warmed, and that reads so much after two minutes without heat."""
    oven = JudgeOven(family, seed, f"warm {reads_c:.0f}")
    for at in range(LONGEST_WARMING_S):
        if at % PULSED_S == 0 and _stood(oven.clone()).true_c >= reads_c:
            break
        oven.step(float(at % PULSED_S < EVEN * PULSED_S), 1.0)
    return _stood(oven)


def _stood(oven: JudgeOven) -> JudgeOven:
    for _ in range(STOOD_S):
        oven.step(0.0, 1.0)
    return oven


def figures(heat: Heat, goal: float, limit_s: float) -> Row:
    """Return overshoot, ratio, settled RMS, offset, closures, and what was tripped or called changed."""
    ticks = heat.ticks
    outside = [i for i, t in enumerate(ticks) if abs(t.true_c - goal) > BAND_K]
    arrived_s = ticks[outside[-1]].at_s if outside else 0.0
    settled = [t.true_c - goal for t in ticks[-1200:]]
    first = next((i for i, t in enumerate(ticks) if t.true_c >= goal - BAND_K), len(ticks))
    soak = [t.true_c - goal for t in ticks[first:]]
    return {
        "over_k": max(t.true_c for t in ticks) - goal,
        "ratio": math.inf if heat.tripped or outside[-1:] == [len(ticks) - 1] else arrived_s / limit_s,
        "settled_k": _rms(settled),
        "offset_k": sum(soak) / len(soak) if soak else -999.0,
        "closures_h": _closures(ticks[-1200:]),
        "trip": heat.tripped,
        "note": heat.note,
    }


def charge(family: str, seed: int, goal: int, model: OvenModel, door: bool = True, step: bool = False) -> Row:
    """Put a cold charge through the door in a settled soak; the limit is the fastest single pulse.

    With `step` in an operator step of the heat, as every load that kilnctl itself asks for: the isolator goes
    off, the door is opened, and the person answers when it is shut and the isolator on again.
    """
    oven = JudgeOven(family, seed, f"charge {goal}")
    when: dict[str, Any] = {}

    def event(judge: JudgeOven, board: Board, at_s: float) -> str:
        if "hot" not in when:
            if judge.true_c > goal - BAND_K:
                when["hot"] = at_s
            return ""
        since_s = at_s - when["hot"] - SETTLED_S
        if since_s == 0.0:
            board.open_door(True)
        elif since_s == DOOR_S / 2:
            judge.put(CHARGE_KG, bright=seed % 2 == 0)
        elif since_s == DOOR_S:
            board.open_door(False)
            when.update(shut=at_s, oven=judge.clone())
        if step and abs(since_s - DOOR_S / 2) <= DOOR_S:
            judge.health = float(since_s == DOOR_S / 2 + DOOR_S)
        return "done" if step and since_s == ANSWERED_S else ""

    profile = in_a_step(goal) if step else job(goal, soak_s=4200.0)
    heat = run(oven, file_for(oven, door=door), profile, model, event)
    after = [t for t in heat.ticks if t.at_s > when.get("shut", 1e9)]
    if not after:
        return {"over_k": 0.0, "ratio": math.inf, "trip": heat.tripped, "note": heat.note}
    out = [t.at_s for t in after if abs(t.true_c - goal) > BAND_K]
    limit_s = _recovery_s(when["oven"], goal) if out else 0.0
    late = (out[-1] - when["shut"]) / limit_s if out and limit_s else 1.0
    return {
        "over_k": max(t.true_c for t in after) - goal,
        "ratio": math.inf if heat.tripped else late,
        "trip": heat.tripped,
        "note": heat.note,
    }


def in_a_step(goal_c: float) -> Profile:
    """Return ramp, soak, a step that asks for the charge while the oven is held, and a soak."""
    step = {"kind": "operator", "step": "load", "say": "Put the charge in.", "at_most": "10 min"}
    held = step | {"hold": f"{goal_c} C"}
    segments = (_ramp(goal_c), _soak(goal_c, SETTLED_S - 60.0), held, _soak(goal_c, 2700.0))
    return Profile.model_validate({"name": "judge", "segment": segments})


def _recovery_s(oven: JudgeOven, goal: float) -> float:
    """Return the time back into goal - 3 K with the longest pulse whose coast does not pass goal + 3 K.

    Two minutes at least: some sensors would not leave the band at all under a pulse that knew everything.
    """
    oven.door_open = False

    def curve(on_s: int) -> list[float]:
        live, course = oven.clone(), []
        for at in range(on_s + 900):
            live.step(float(at < on_s), 1.0)
            course.append(live.true_c)
        return course

    low, high = 0, 900
    while high - low > 4:
        middle = (low + high) // 2
        low, high = (middle, high) if max(curve(middle)) <= goal + BAND_K else (low, middle)
    course = curve(low)
    peak = course.index(max(course[low:]), low)
    out = [i for i, c in enumerate(course[:peak]) if c < goal - BAND_K]
    return max(float(out[-1] + 1) if out else 0.0, SHORTEST_S)


def _closures(ticks: list[Tick]) -> float:
    moves = sum(b.heat_on and not a.heat_on for a, b in pairwise(ticks))
    return moves * 3600.0 / max(1, len(ticks))


def _rms(off_k: list[float]) -> float:
    return math.sqrt(sum(k * k for k in off_k) / max(1, len(off_k)))
