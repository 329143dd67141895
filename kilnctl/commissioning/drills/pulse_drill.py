"""The drill of the heater pulse: a minute of heat from cold, and what the sensors make of it."""

from collections.abc import Mapping
from statistics import fmean, median

from kilnctl.commissioning.drills.drill_rig import DrillRig
from kilnctl.devices.probing.cures import STILL_K
from kilnctl.devices.probing.diagnoses import Diagnosis
from kilnctl.devices.probing.pulse_judgement import (
    NO_FEEDBACK,
    PULSE_MOST_K,
    PULSE_SHARE_LEARNED,
    PULSE_SHARE_TIMED,
    PULSE_SHARE_USUAL,
    PulseDue,
    judge_power,
    judge_pulse,
)
from kilnctl.errors import ConfigError
from kilnctl.interlocks.contract import live
from kilnctl.interlocks.stuck_on import HeatWithoutDemand
from kilnctl.interlocks.thresholds import IN_SIGHT
from kilnctl.model.maker_constants import first_guess
from kilnctl.model.oven_model import OvenModel, advance, at_rest, sensor_c
from kilnctl.permits.dead_man_test import Finding
from kilnctl.readings import Scan, Trip
from kilnctl.units import f_from_c

PULSE_S = 60.0
WATCH_S = 120.0
# Behind a muffle, in salt or sand the same minute of heat is seen as late as this: of 48 such ovens the
# slowest had risen by 0.3 K after three minutes and by 1.4 K after fifteen.
HIDDEN_S = 900.0
NO_POWER_S = 12.0
MISSED = 2  # readings in a row that a module which is busy now and then may owe
SMOOTH_TICKS = 10  # noise of a sound sensor must not look like a neighbour's rise
STEPS = 1.5  # a module's smallest step says nothing yet: a reading between two of them falls on either
COLD_K = 15.0
STEADY_S, STEADY_K, SETTLES_S = 15.0, 0.3, 600.0  # two means that follow each other, and how long to wait
# A heat-up that was timed to more than this says more of the walls than of the first minute.
TIMED_C = 300.0
DRAWN_FROM_S = 5.0
CLEAR_K = 3.0
# An output that was on and then off for so long has not come and gone as instruments switch by themselves.
GONE_S = PULSE_S / 2.0
SHOWS = (
    "the instrument's own display must say {:.0f} °C ({:.0f} °F) as its set-point in the heat; if it says "
    "another, stop by Ctrl-C: scale or unit of output.heater is wrong"
)
DROPPED = (
    "{}the board dropped its output by itself after about {:.0f} s while heat was asked for; it wants its "
    "command renewed more often: look in its list for a watchdog, a time-out or a time after which a command "
    "is stale, and write that as holds of output.heater (its own command again) or dead_man (another place)"
)


def pulse(bench: DrillRig) -> Finding:
    """Heat for one minute from cold and compare the rise with what is known of the oven."""
    bench.without = ("sensor_answer",)  # judged here
    bench.tell(f"no heat yet: looking for {2 * STEADY_S:.0f} s whether the sensor is at rest")
    first = _steady(bench)
    if first is None:
        return Finding(False, None, "the sensor has not come to rest in ten minutes; give it an hour")
    start_c = first.process.value
    if start_c is None or abs(start_c - bench.oven.ambient_c) > COLD_K:
        return Finding(False, None, "start from a cold oven with a good sensor")
    try:
        due = _due(bench, start_c)
    except ConfigError as e:
        return Finding(False, None, str(e))
    if (point_c := bench.on.setpoint_c) is not None:
        bench.tell(SHOWS.format(point_c, f_from_c(point_c)))
    bench.tell(f"heating for {PULSE_S:.0f} s, then looking for {WATCH_S:.0f} s")
    return _heated(bench, due)


def _heated(bench: DrillRig, due: PulseDue) -> Finding:
    readings: dict[str, list[float]] = {bench.oven.name: [], **{name: [] for name in bench.neighbours}}
    power: set[bool | None] = set()
    seen_on: list[bool] = []
    drawn_w: list[float] = []
    at_s, longest_s = 0.0, _longest_s(bench)
    while at_s < longest_s:
        heat = at_s < PULSE_S
        scan = bench.tick(heat)
        _note(bench, scan, readings)
        if bench.trip is not None:
            break
        power |= {live(scan)} if heat and at_s > bench.oven.tick_s else set()
        seen_on += _on(scan) if heat and at_s > 0.0 else []
        drawn_w += _drawn_w(bench, scan) if heat and at_s > DRAWN_FROM_S else []
        if power == {False} and at_s >= NO_POWER_S:
            break  # contact or current sensor have said it: no temperature need be waited for
        bench.tell_now_and_then(scan)
        at_s += bench.oven.tick_s
        own = readings[bench.oven.name]
        if not heat and _gone_s(bench, seen_on) >= GONE_S:
            break
        if not (heat or bench.neighbours) and _is_over(own, due):
            break  # nothing more will come: the rest would prove nothing
        if at_s >= PULSE_S + WATCH_S and any(abs(_rise_k(seen)) >= due.least_k for seen in readings.values()):
            break
        if at_s - bench.oven.tick_s < PULSE_S + WATCH_S <= at_s < longest_s:
            bench.tell(f"nothing yet: elements out of sight are felt late, so {HIDDEN_S / 60:.0f} min in all")
    seen_by = _rise_k if bench.trip is None else _moved_k
    rises_k = {name: seen_by(values) for name, values in readings.items()}
    return _judged(bench, rises_k, due, power, drawn_w, seen_on)


def _longest_s(bench: DrillRig) -> float:
    """Return how long is looked at most; where nothing hides the elements, no longer than the rise takes."""
    hidden = bench.oven.elements not in IN_SIGHT
    return HIDDEN_S if hidden and bench.model is None else PULSE_S + WATCH_S


def _due(bench: DrillRig, start_c: float) -> PulseDue:
    """Return what the pulse must show. Raises ConfigError where what was timed cannot be."""
    oven, told = bench.oven, bench.oven.measured
    floor_k = max(STILL_K, STEPS * oven.signal.process.step_k)
    if bench.model is not None:
        expected_k = _rises_k(bench.model, start_c, oven.tick_s)
        low, high = PULSE_SHARE_LEARNED
        return PulseDue(max(low * expected_k, floor_k), min(high * expected_k, PULSE_MOST_K), expected_k)
    if told is None or told.takes_s is None or told.heats_to_c is None or told.heats_to_c > TIMED_C:
        return PulseDue(floor_k, PULSE_MOST_K)
    expected_k = _rises_k(first_guess(oven), start_c, oven.tick_s)
    seen = oven.elements in IN_SIGHT  # what is hidden is late by as much as nobody has timed
    (low, high), (little, much) = PULSE_SHARE_TIMED, PULSE_SHARE_USUAL
    usual_k = (little * expected_k if seen else 0.0, much * expected_k)
    least_k = max(low * expected_k, floor_k) if seen else floor_k
    by = f" of one that takes {told.takes_s / 60:.0f} min to {told.heats_to_c:.0f} °C"
    return PulseDue(
        least_k, min(max(high * expected_k, 10.0 * floor_k), PULSE_MOST_K), expected_k, usual_k, by
    )


def _rises_k(model: OvenModel, start_c: float, tick_s: float) -> float:
    """Return how much a sensor should rise at most in a pulse."""
    state, highest_c = at_rest(start_c), start_c
    for tick in range(int((PULSE_S + WATCH_S) / tick_s)):
        state = advance(model, state, float(tick * tick_s < PULSE_S), start_c, tick_s)
        highest_c = max(highest_c, sensor_c(state))
    return highest_c - start_c


def _drawn_w(bench: DrillRig, scan: Scan) -> list[float]:
    """Return the power that the element draws, where its current is measured."""
    volts = bench.oven.supply_v if scan.supply_v is None else scan.supply_v.value
    amps = None if scan.current_a is None else scan.current_a.value
    return [] if volts is None or amps is None else [volts * amps]


def _is_over(values: list[float], due: PulseDue) -> bool:
    """True once a sensor has risen as much as can be expected at least, and rises no more."""
    now, before = values[-SMOOTH_TICKS:], values[-2 * SMOOTH_TICKS : -SMOOTH_TICKS]
    rose = _rise_k(values) > max(due.least_k, due.usual_k[0], CLEAR_K)
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


def _moved_k(values: list[float]) -> float:
    """Return the largest move from the first reading: of a pulse cut after a few, no mean tells it."""
    return max((value - values[0] for value in values), key=abs, default=0.0)


def _judged(
    bench: DrillRig,
    rises_k: Mapping[str, float],
    due: PulseDue,
    power: set[bool | None],
    drawn_w: list[float],
    seen_on: list[bool],
) -> Finding:
    heater_live = True if True in power else False if False in power else None
    finding = judge_pulse(bench.oven.name, rises_k, due, heater_live)
    value = rises_k[bench.oven.name]
    gone_s = _gone_s(bench, seen_on)
    if gone_s >= GONE_S or (gone_s > 0.0 and finding.kind == "no heat"):
        cut = "" if bench.trip is None else f"{bench.trip.reason}: "
        return Finding(False, value, DROPPED.format(cut, (len(seen_on) * bench.oven.tick_s) - gone_s))
    if bench.trip is not None:
        return Finding(False, value, _cut_by(bench, bench.trip, finding, value))
    if finding.good and drawn_w:
        draws = judge_power(median(drawn_w), bench.oven.power_w)
        return Finding(draws.good, value, f"{finding.say} By its current {draws.say}.")
    return Finding(finding.good, value, finding.say)


def _cut_by(bench: DrillRig, trip: Trip, finding: Diagnosis, rise_k: float) -> str:
    """Say what has cut the pulse, before all else. A rise that was cut short proves no missing heat."""
    contact_says_none = finding.kind == "no heat" and NO_FEEDBACK in finding.say
    said = f"{trip.reason}{_or_other_contact(bench)}"
    if finding.kind in ("crossed", "reversed") or contact_says_none:
        return f"{said}. {finding.say}"
    moved = f"risen by {rise_k:.1f} K" if rise_k >= 0.0 else f"fallen by {-rise_k:.1f} K"
    return f"{said}; {bench.oven.name} had {moved} until the heat was cut"


def _on(scan: Scan) -> list[bool]:
    """Return whether output and element are on, nothing where neither tells."""
    told = [on for on in (scan.heat_on, live(scan)) if on is not None]
    return [all(told)] if told else []


def _gone_s(bench: DrillRig, seen_on: list[bool]) -> float:
    """Return for how long an output that had come on was off as the heat was last asked for."""
    if True not in seen_on:
        return 0.0
    return seen_on[::-1].index(True) * bench.oven.tick_s


def _or_other_contact(bench: DrillRig) -> str:
    """Return what else than a welded relay it can be, where a contact alone says that the element is live."""
    contactor = bench.oven.output.contactor is not None and bench.oven.signal.heater_live is not None
    if not contactor or bench.trip is None or bench.trip.kind != HeatWithoutDemand.kind:
        return ""
    return ": a relay is welded or leaks, or heater_live's contact is on the contactor, not at the element"
