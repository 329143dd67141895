"""The drill of the heater pulse: a minute of heat from cold, and what the sensors make of it."""

from collections.abc import Mapping
from statistics import fmean

from kilnctl.commissioning.drill_rig import DrillRig
from kilnctl.devices.probing.diagnoses import PULSE_SHARE_GUESSED, PULSE_SHARE_LEARNED, STILL_K, judge_pulse
from kilnctl.interlocks.contract import live
from kilnctl.interlocks.stuck_on import HeatWithoutDemand
from kilnctl.model.nameplate import BUILDS, nameplate
from kilnctl.model.oven_model import OvenModel, advance, at_rest, sensor_c
from kilnctl.permits.dead_man_test import Finding
from kilnctl.readings import Scan

PULSE_S = 60.0
WATCH_S = 120.0
NO_POWER_S = 12.0
MISSED = 2  # readings in a row that a module which is busy now and then may owe
SMOOTH_TICKS = 10  # noise of a sound sensor must not look like a neighbour's rise
COLD_K = 15.0
STEADY_S, STEADY_K, SETTLES_S = 15.0, 0.3, 600.0  # two means that follow each other, and how long to wait


def pulse(bench: DrillRig) -> Finding:
    """Heat for one minute from cold and compare the rise with what the oven's model says of it."""
    bench.without = ("sensor_answer",)  # judged here, by the same model
    bench.tell(f"no heat yet: looking for {2 * STEADY_S:.0f} s whether the sensor is at rest")
    first = _steady(bench)
    if first is None:
        return Finding(False, None, "the sensor has not come to rest in ten minutes; give it an hour")
    start_c = first.process.value
    if start_c is None or abs(start_c - bench.oven.ambient_c) > COLD_K:
        return Finding(False, None, "start from a cold oven with a good sensor")
    bench.tell(f"heating for {PULSE_S:.0f} s, then looking for {WATCH_S:.0f} s")
    due_k, seen = _due_k(bench.model or nameplate(bench.oven), start_c, bench.oven.tick_s), 0
    readings: dict[str, list[float]] = {bench.oven.name: [], **{name: [] for name in bench.neighbours}}
    power: set[bool | None] = set()
    for tick in range(len(due_k) - 1):
        seen = tick
        heat = tick * bench.oven.tick_s < PULSE_S
        scan = bench.tick(heat)
        _note(bench, scan, readings)
        if bench.trip is not None:
            break
        power |= {live(scan)} if heat and tick > 1 else set()
        if power == {False} and tick * bench.oven.tick_s >= NO_POWER_S:
            break  # contact or current sensor have said it: no temperature need be waited for
        bench.tell_now_and_then(scan)
        if not (heat or bench.neighbours) and _is_over(readings[bench.oven.name], due_k[-1]):
            seen = len(due_k) - 1  # nothing more will come: the rest would prove nothing
            break
    others_k = _other_builds_k(bench, start_c, seen)
    rises_k = {name: _rise_k(values) for name, values in readings.items()}
    return _judged(bench, rises_k, due_k[seen], power, others_k)


def _due_k(model: OvenModel, start_c: float, tick_s: float) -> list[float]:
    """Return how much a sensor should have risen at most by each tick of a pulse."""
    state, due_k, found = at_rest(start_c), 0.0, []
    for tick in range(int((PULSE_S + WATCH_S) / tick_s)):
        found.append(due_k)
        state = advance(model, state, float(tick * tick_s < PULSE_S), start_c, tick_s)
        due_k = max(due_k, sensor_c(state) - start_c)
    return [*found, due_k]


def _other_builds_k(bench: DrillRig, start_c: float, tick: int) -> dict[str, float]:
    """Return what a pulse would do until now in an oven of each other build; nothing for a learned one."""
    if bench.model is not None:
        return {}
    others = [bench.oven.model_copy(update={"build": build}) for build in BUILDS if build != bench.oven.build]
    return {one.build: _due_k(nameplate(one), start_c, bench.oven.tick_s)[tick] for one in others}


def _is_over(values: list[float], due_k: float) -> bool:
    """True once a sensor has risen as much as can be expected at least, and rises no more."""
    now, before = values[-SMOOTH_TICKS:], values[-2 * SMOOTH_TICKS : -SMOOTH_TICKS]
    rose = _rise_k(values) > max(PULSE_SHARE_LEARNED[0] * due_k, STILL_K)
    return rose and len(before) == SMOOTH_TICKS and fmean(now) < fmean(before)


def _steady(bench: DrillRig) -> Scan | None:
    """Wait until the sensor has come to rest, as after being warmed by hand; None where it does not."""
    readings_c: list[float] = []
    window, told, missed = int(STEADY_S / bench.oven.tick_s), False, 0
    for _ in range(int(SETTLES_S / bench.oven.tick_s)):
        scan = bench.tick(heat=False)
        missed = missed + 1 if scan.process.value is None else 0
        if missed > MISSED:
            return scan
        if scan.process.value is None:
            continue
        bench.tell_now_and_then(scan)
        readings_c = [*readings_c, scan.process.value][-2 * window :]
        if len(readings_c) == 2 * window:
            if abs(fmean(readings_c[window:]) - fmean(readings_c[:window])) <= STEADY_K:
                return scan
            if not told:
                bench.tell("waiting for the sensor to settle, ten minutes at most")
                told = True
    return None


def _note(bench: DrillRig, scan: Scan, readings: dict[str, list[float]]) -> None:
    scans = {name: oven_io.scan(scan.at_s) for name, oven_io in bench.neighbours.items()}
    for name, one in {bench.oven.name: scan, **scans}.items():
        if one.process.value is not None:
            readings[name].append(one.process.value)


def _rise_k(values: list[float]) -> float:
    """Return the largest move from the first readings, up or down, of means that noise does not move."""
    start_c = fmean(values[:SMOOTH_TICKS]) if values else 0.0
    means = [fmean(values[i : i + SMOOTH_TICKS]) for i in range(max(0, len(values) - SMOOTH_TICKS + 1))]
    return max((mean - start_c for mean in means), key=abs, default=0.0)


def _judged(
    bench: DrillRig,
    rises_k: Mapping[str, float],
    due_k: float,
    power: set[bool | None],
    others_k: Mapping[str, float],
) -> Finding:
    heater_live = True if True in power else False if False in power else None
    share = PULSE_SHARE_GUESSED if bench.model is None else PULSE_SHARE_LEARNED
    finding = judge_pulse(bench.oven.name, rises_k, due_k, heater_live, share, others_k)
    value = rises_k[bench.oven.name] / due_k if due_k > 0.0 else 0.0
    if bench.trip is not None and finding.good:
        return Finding(False, value, f"{bench.trip.reason}{_or_other_contact(bench)}")
    also = "" if bench.trip is None else f" (heat was cut: {bench.trip.reason})"
    return Finding(finding.good, value, f"{finding.say}{also}")


def _or_other_contact(bench: DrillRig) -> str:
    """Return what else than a welded relay it can be, where a contact alone says that the element is live."""
    contactor = bench.oven.output.contactor is not None and bench.oven.signal.heater_live is not None
    if not contactor or bench.trip is None or bench.trip.kind != HeatWithoutDemand.kind:
        return ""
    return ": a relay is welded or leaks, or heater_live's contact is on the contactor, not at the element"
