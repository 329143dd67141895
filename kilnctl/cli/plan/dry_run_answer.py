"""The answer of `dry-run`: the rehearsal, and its page, record and chart."""

import json
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kilnctl.cli.plan.forecast_page import (
    apart_lines,
    arrival_lines,
    as_data,
    as_series,
    chart_kind,
    forecast_from_cold,
    screen_basis,
)
from kilnctl.cli.plan.plan_timing import known_oven
from kilnctl.cli.terminal.progress import progress
from kilnctl.cli.terminal.select import choose_job, choose_oven
from kilnctl.cli.terminal.tell import tell
from kilnctl.cli.terminal.whole_words import whole_words
from kilnctl.errors import ConfigError, RecordError
from kilnctl.forecast.band import Forecast
from kilnctl.heat.job import Outcome
from kilnctl.model.oven_model import OvenModel
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.dry_run import Rehearsal, oven_for, parse_faults, rehearse
from kilnctl.rehearsal.truth_told import (
    TELL_APART_K,
    SegmentTruth,
    TruthWatch,
    bands_k,
    not_as_asked,
    segments_told,
    stood_apart,
    stood_in,
    treated_otherwise,
)
from kilnctl.rehearsal.truth_told import as_data as truth_data
from kilnctl.report.layout.text_page import PageConsole
from kilnctl.stages import in_words
from kilnctl.units import parse_point_c, say_duration, say_point
from simulator.boards.faults import Fault

_APART, _NOT_AS_ASKED = "THE READINGS WERE FALSE", "The part was not treated as asked"
_PART_APART = "THE PART WAS NOT AT THE SENSOR'S TEMPERATURE"
_OTHERWISE = "THE PART GOT ANOTHER TREATMENT"
_UNDER = "THE PART STAYED UNDER ITS GOAL"
_RED = (_APART, _PART_APART, _OTHERWISE, _UNDER)
NOT_AS_ASKED = 7  # as for a heat that ended safely, but not as asked

if TYPE_CHECKING:
    from kilnctl.report.charts.forecast_series import ForecastSeries
    from kilnctl.report.record import Record


def answer(
    job: str | None,
    oven: str | None,
    soak: str | None,
    hold_for: str | None,
    fault: list[str],
    limit: str | None,
    seed: int,
    csv: Path | None,
    chart: Path | None,
    as_json: bool,
) -> int:
    """Rehearse a job on a simulated oven and print what happened. Returns the exit code."""
    kind = "" if chart is None else chart_kind(chart)
    path, chosen = choose_oven(oven, job)
    todo = choose_job(job, soak, hold_for, chosen)
    known = known_oven(chosen)
    model, start = (None, None) if known is None else (known.model, known.control_model)
    likely = None if known is None else known.likely_model
    plant, which = oven_for(chosen, likely, seed)
    faults, watch = parse_faults(fault), TruthWatch()
    limit_c = None if limit is None else _limit_c(limit, todo.profile)
    rehearsal = rehearse(
        chosen,
        todo,
        faults=faults,
        limit_c=limit_c,
        waits_s=todo.planned_s,
        on_tick=watch,
        seed=seed,
        plant=plant,
        model=model,
        start=start,
        oven_file=path.read_text(encoding="utf-8"),
    )
    out = sys.stderr if as_json else sys.stdout
    for warning in todo.warnings:
        print(whole_words(f"warning: {warning}", out), file=out)
    outcome = _rehearsed(rehearsal, watch, sum(filter(None, todo.planned_s)))
    told = segments_told(watch)
    finished = outcome.outcome == "complete"
    truly = treated_otherwise(watch, told, outcome.summary["treatment"])
    wrong = (not_as_asked(told, bands_k(rehearsal)) or "; ".join(truly)) if finished else ""
    stood = (*_never_came(faults, outcome), *stood_apart(told), *stood_in(rehearsal, tuple(faults), limit_c))
    ahead = forecast_from_cold(todo.profile, chosen, likely, todo.planned_s)
    if csv is not None:
        _write_csv(rehearsal, csv)
    if chart is not None:
        curve = as_series(ahead, likely)
        rests_on = "\n".join((which, curve.basis, *(f"{_OTHERWISE}: {line}" for line in truly)))
        _write_chart(rehearsal, curve._replace(basis=rests_on), chart, kind)
    if as_json:
        more = {"simulated_oven": which, "predicted": as_data(ahead, likely)}
        steel = rehearsal.station.steel
        more |= truth_data(told, wrong, stood, watch.treatment.told(todo.profile, steel, finished))
        print(json.dumps({**summary(rehearsal, outcome), **more}, allow_nan=False))
    else:
        predicted = _predicted_lines(ahead, likely, todo.profile, outcome)
        _show(lines(rehearsal, outcome, which, told, wrong, truly), [*predicted, *stood], wrong)
    return NOT_AS_ASKED if wrong else outcome.exit_code


def _rehearsed(rehearsal: Rehearsal, watch: TruthWatch, due_s: float) -> Outcome:
    """Run a rehearsal while a person sees how far it is, and the watch what is true."""
    watch.rehearsal, watch.due_s = rehearsal, due_s
    with progress("rehearsing") as done:
        watch.done = done
        return rehearsal.run()


def _never_came(faults: Sequence[Fault], outcome: Outcome) -> list[str]:
    """Say which faults came too late for the heat. Raises ConfigError where it was complete without them."""
    over_s = outcome.summary["duration_s"]
    late = [f"{fault.name}@{say_duration(fault.at_s)}" for fault in faults if fault.at_s >= over_s]
    said = [f"{words} never came: the heat was over after {say_duration(over_s)}" for words in late]
    if said and outcome.outcome == "complete":
        raise ConfigError(f"{said[0]}; give --fault an earlier time")
    return said


def _predicted_lines(
    ahead: Forecast, likely: OvenModel | None, profile: Profile, outcome: Outcome
) -> list[str]:
    """Say what was predicted, what that rests on, and why a heat without faults took another time."""
    predicted = ["predicted, without faults:", *arrival_lines(ahead, profile), screen_basis(likely, profile)]
    if outcome.outcome == "complete":
        predicted += apart_lines(ahead, outcome.summary["segments"], likely, profile)
    return predicted


def _limit_c(text: str, profile: Profile) -> float:
    """Return where the independent limit opens. Raises ConfigError where the job itself would open it."""
    limit_c = parse_point_c(text)
    if limit_c <= profile.peak_c:
        raise ConfigError(
            f"--limit {text}: this job goes to {say_point(profile.peak_c)}, so such a limit would cut a "
            "sound heat; a limit lies above the job and below what the oven can bear"
        )
    return limit_c


def _show(happened: list[str], more: list[str], wrong: str) -> None:
    """Print the page of a rehearsal; in red, where truth and reading part and what went wrong."""
    console = PageConsole(soft_wrap=True)
    for line in happened:
        style = "bold red" if line.lstrip().startswith(_RED) else None
        console.print(whole_words(line, sys.stdout), style=style)
    tell(*more)
    if wrong:
        console.print(whole_words(f"{_NOT_AS_ASKED}: {wrong}", sys.stdout), style="bold red")


def summary(rehearsal: Rehearsal, outcome: Outcome) -> dict[str, Any]:
    """Return the summary of the command contract."""
    verdict = rehearsal.book.verify(rehearsal.run_id)
    record = {"complete": verdict.complete, "chain": verdict.short}
    return {**outcome.summary, "run": rehearsal.run_id, "record": record}


def lines(
    rehearsal: Rehearsal,
    outcome: Outcome,
    which: str,
    told: tuple[SegmentTruth, ...] = (),
    wrong: str = "",
    truly: tuple[str, ...] = (),
) -> list[str]:
    """Return what happened, for a person; `which` says on what simulated oven, `told` what was true.

    `truly` is what the part got otherwise than its readings say.
    """
    truths = {s.index: s for s in told}
    said = [f"Rehearsal of {outcome.summary['oven']}; nothing real was heated", which]
    for s in outcome.summary["segments"]:
        said.append(_segment_line(s))
        said += _truth_lines(truths.get(s["index"]))
    s = outcome.summary
    said.append(
        f"all in {say_duration(s['duration_s'])}, {s['energy_kwh']:.2f} kWh at the rated power, "
        f"peak {_point(s['peak_c'])}"
    )
    by_readings = " (by the readings)" if truly else ""
    said += [f"{line}{by_readings}" for line in treatment_lines(s["treatment"])]
    said += [f"{_OTHERWISE}: {line}" for line in truly]
    heat = "heat off, read back" if outcome.heat_off else "HEAT NOT READ BACK AS OFF"
    ended = f"{_NOT_AS_ASKED} (on its readings: complete)" if wrong else in_words(outcome.outcome)
    said.append(f"{ended}{': ' + outcome.cause if outcome.cause else ''}; {heat}")
    return said


def _truth_lines(s: SegmentTruth | None) -> list[str]:
    """Return what a soak truly was, and of any segment where truth and reading part."""
    if s is None or (s.goal_c is None and abs(s.apart_k) <= TELL_APART_K):
        return []
    if s.too_hot:
        skin = f"its skin reached {s.skin_peak_c:.1f} °C, {s.ceiling_c:.0f} °C was the most allowed"
        what = _APART if abs(s.apart_k) > TELL_APART_K else _PART_APART
        return [
            f"     {what}: read {s.read_c:.1f} °C, truly {s.true_c:.1f} °C, part {s.part_c:.1f} °C; {skin}"
        ]
    part = "" if s.part_c is None else f", part {s.part_c:.1f} °C"
    if abs(s.apart_k) <= TELL_APART_K:
        return [f"     read {s.read_c:.1f} °C, truly {s.true_c:.1f} °C{part}", *_spared_line(s)]
    return [f"     {_APART}: read {s.read_c:.1f} °C, truly {s.true_c:.1f} °C ({s.apart_k:+.0f} K){part}"]


def _spared_line(s: SegmentTruth) -> list[str]:
    """Say of a temper whose sensor is held lower how far its part was from the goal, as planned."""
    if s.goal_c is None or s.held_c is None or s.held_c >= s.goal_c:
        return []
    spared = f"the plan holds the sensor {s.goal_c - s.held_c:.0f} K under the goal {say_point(s.goal_c)}"
    again = "test its hardness, a temper can be done again higher"
    lead = f"{_UNDER}: " if s.stayed_under else ""
    return [f"     {lead}{spared}: the part was {s.felt_c - s.goal_c:+.0f} K from it; {again}"]


def treatment_lines(treatment: dict[str, Any]) -> list[str]:
    """Return what the heat did to the part: temper equivalence, hot minutes, the cooling by its name."""
    said = [f"temper equivalent with {k}: {say_duration(v)}" for k, v in treatment.items() if "=" in k]
    if treatment.get("above_700_s"):
        hot = f"{say_duration(treatment['above_700_s'])} above 700 °C"
        said.append(f"the part was {hot}, {say_duration(treatment['above_800_s'])} above 800 °C")
    if "cooled" in treatment:
        said.append(f"cooled in the oven: {treatment['cooled']} ({treatment['cooling_c_per_s']:.2f} °C/s)")
    if "cooled outside" in treatment:
        said.append(f"cooled outside: {treatment['cooled outside']}")
    return said + ([treatment["warning"]] if "warning" in treatment else [])


def _point(c: float | None) -> str:
    return "unknown" if c is None else say_point(c)


def _segment_line(s: dict[str, Any]) -> str:
    end_s = s["ended_s"] if s["ended_s"] is not None else s["started_s"]
    over_k = s["overshoot_k"]
    over = "" if over_k is None else f", highest {s['goal_c'] + over_k:.1f} °C ({over_k:+.1f} K)"
    rms = "" if s["rms_error_k"] is None else f", rms {s['rms_error_k']:.2f} K"
    goal = "" if s["goal_c"] is None else f" {_point(s['goal_c'])}"
    took = say_duration(end_s - s["started_s"])
    return f"  {s['index'] + 1:2d} {s['label'] or s['kind']}{goal}: {took}{over}{rms}"


def _record(rehearsal: Rehearsal) -> "Record":
    from kilnctl.logbook.readers import Reader
    from kilnctl.report.record import load_record

    return load_record(Reader(rehearsal.book.connection), rehearsal.run_id)


def _write_csv(rehearsal: Rehearsal, path: Path) -> None:
    from kilnctl.report.csv_export import write_csv

    try:
        write_csv(_record(rehearsal), path)
    except OSError as e:
        raise RecordError(f"{path}: cannot be written: {e.strerror}") from None


def _write_chart(rehearsal: Rehearsal, told: "ForecastSeries", path: Path, kind: str) -> None:
    from kilnctl.report.charts.chart import write_chart
    from kilnctl.report.charts.time_axis import IN_NO_TIME

    try:
        record = _record(rehearsal)
        by_no_clock = replace(record, header=replace(record.header, time_scale=IN_NO_TIME))
        write_chart(by_no_clock, path, kind, told)
    except OSError as e:
        raise RecordError(f"{path}: cannot be written: {e.strerror}") from None
