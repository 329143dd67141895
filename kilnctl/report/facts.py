"""Everything a one-page record says, as words in groups; page.py and paper.py decide how it looks."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from kilnctl.care.calibration import Correction
from kilnctl.care.late_entries import stamp_words
from kilnctl.care.survey import orientation
from kilnctl.clock import say_day, say_minute
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError, KilnctlError
from kilnctl.logbook.entries import (
    Calibration,
    Hardness,
    Note,
    PartEntry,
    Survey,
    Warp,
    in_force,
    newest,
    read,
)
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.records import Event
from kilnctl.profile.segments import say_goal
from kilnctl.report.achieved import Achieved, achieved
from kilnctl.report.record import Record
from kilnctl.report.uncertainty import DRIFT_OF_K, INSTRUMENT_K, Component, Statement, class_2_k, combine
from kilnctl.stages import in_words
from kilnctl.tomlfile import loads
from kilnctl.units import say_duration

SUPPORT = "Records to support a statement about this heat; not a statement of compliance with any standard."
CHAIN = (
    "The hash covers header, samples, events and end. It shows every change but one that rebuilds it; "
    "somebody who has the file can rebuild it, which only a copy of this hash kept elsewhere would show."
)
Rows = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Group:
    """A titled list of (name, value)."""

    title: str
    rows: Rows


@dataclass(frozen=True, slots=True)
class RecordFacts:
    """The content of a one-page record. `table` is the segments asked and achieved, first row its head."""

    title: str
    subtitle: str
    marks: tuple[str, ...]
    why_marked: tuple[str, ...]
    groups: tuple[Group, ...]
    table: tuple[tuple[str, ...], ...]
    not_measured: tuple[str, ...]
    footer: tuple[str, ...]


def facts(reader: Reader, record: Record) -> RecordFacts:
    """Return what the one-page record of a run says."""
    info, v = record.info, record.verdict
    parts = achieved(record)
    statement = uncertainty(reader, record)
    return RecordFacts(
        title=f"Heat record: {info.profile_name}",
        subtitle=f"run {info.run} · {info.oven} · {_when(info.started_utc)}",
        marks=record.marks,
        why_marked=record.why_marked,
        groups=(
            Group("Load and recipe", _load(reader, record)),
            Group("Outcome", _outcome(record)),
            Group("Treatment", _treatment(reader, record)),
            Group("Sensors and corrections in force", _sensors(reader, record)),
            Group("Stated uncertainty", _uncertainty_rows(statement)),
            Group("Alarms, deviations, answers", _happened(record.events) + _afterwards(reader, record)),
        ),
        table=_table(parts),
        not_measured=_not_measured(reader, record, statement),
        footer=(SUPPORT, f"Short hash {v.short} over {v.samples} samples and {v.events} events. {CHAIN}"),
    )


def _when(utc: float) -> str:
    moment = datetime.fromtimestamp(utc, UTC)
    return f"{say_minute(utc)} {moment.astimezone():%Z} ({moment:%H:%M} UTC)"


def _load(reader: Reader, record: Record) -> Rows:
    info, header, profile = record.info, record.header, record.profile
    rows = [("part", info.part or "not named"), ("steel", info.steel or "not stated")]
    rows += [("doubt", profile.doubt)] if profile is not None and profile.doubt else []
    known = newest(reader, PartEntry, info.part) if info.part else None
    if known is not None:
        part = known[1]
        rows += [("bar or heat number", part.bar)] if part.bar else []
        rows += [("quantity", str(part.quantity))]
        rows += [("position in the load", part.position)] if part.position else []
        rows += [("customer, order", part.customer)] if part.customer else []
    if profile is not None and profile.parts:
        rows.append(("parts together", ", ".join(profile.parts)))
    if profile is not None and profile.section_mm is not None:
        rows.append(("section", f"{profile.section_mm:g} mm, {profile.surface}"))
    rows += [
        ("recipe", f"{info.recipe or info.profile_name}, revision {info.revision}"),
        ("operator", info.operator or "not named"),
        ("attendance", "unattended" if info.unattended else "attended"),
        ("program", f"kilnctl {header.software}".strip()),
    ]
    scale = f", time scale {header.time_scale:g}" if header.time_scale != 1.0 else ""
    return (*rows, ("oven", f"{info.oven}{' (simulated)' if info.simulated else ''}{scale}"))


def _outcome(record: Record) -> Rows:
    info = record.info
    rows = [("outcome", in_words(info.outcome) or "no end was recorded")]
    rows += [("cause", info.cause)] if info.cause else []
    found = record.summary.get("oven_note")
    rows += [("found of the oven", str(found))] if found else []
    if info.ended_utc:
        rows.append(("ended", _when(info.ended_utc)))
    curve = record.curve
    if len(curve):
        rows.append(("duration", say_duration(curve.duration_s)))
    if info.peak_c is not None:
        rows.append(("highest oven temperature", f"{info.peak_c:.1f} °C"))
    if info.energy_kwh is not None:
        rows.append(("energy to the element", f"{info.energy_kwh:.2f} kWh (on-time × rated power)"))
    return tuple(rows)


def _treatment(reader: Reader, record: Record) -> Rows:
    rows: list[tuple[str, str]] = []
    for name, column in (("C = 20", "dose20_s"), ("C from carbon", "dose_c_s")):
        last = _last(record, column)
        if last:
            rows.append((f"equivalence, {name}", f"{say_duration(last)} at the goal temperature"))
    profile = record.profile
    if profile is not None and profile.goal_hrc is not None:
        rows.append(("hardness aimed at", say_goal(profile.goal_hrc).replace("-", "–")))
    predicted = record.summary.get("predicted_hrc")
    if record.info.outcome not in ("", "complete"):  # the plan's aim, which this heat has not come to
        rows.append(("hardness predicted", "not predicted: the heat did not finish"))
    elif isinstance(predicted, list | tuple) and len(predicted) == 2:
        rows.append(("hardness predicted", "{:.0f}–{:.0f} HRC, good to about 2 HRC".format(*predicted)))
    tests = _tests(reader, record)
    rows += [("hardness measured", f"{test.words} ({test.method})") for test in tests]
    rows += [("hardness measured", "not yet")] if not tests else []
    rows += [("warp", f"{w.bow_mm:g} mm to the {w.side}") for w in read(reader, Warp, run=record.info.run)]
    named = {"C = 20", "predicted_hrc"}
    rows += [
        (name.replace("_", " "), str(value))
        for name, value in record.summary.get("treatment", {}).items()
        if isinstance(value, str) and name not in named
    ]
    return tuple(rows)


def _tests(reader: Reader, record: Record) -> list[Hardness]:
    of_run = read(reader, Hardness, run=record.info.run)
    if of_run or not record.info.part:
        return of_run
    later = [
        test
        for row, test in in_force(reader, Hardness, record.info.part)
        if test.run is None and row.utc_s >= record.info.started_utc
    ]
    return later[-1:]


def _last(record: Record, column: str) -> float | None:
    values = record.curve.column(column)
    known = values[~np.isnan(values)]
    return float(known[-1]) if len(known) else None


def _oven(record: Record) -> Oven | None:
    try:
        return loads(record.header.oven_file, Oven, ConfigError, record.info.oven)
    except KilnctlError:
        return None


def calibrated_then(reader: Reader, record: Record) -> dict[str, tuple[str, bool, Calibration]]:
    """Return each sensor's newest calibration before the run: its day, whether the run applied it, itself."""
    found: dict[str, tuple[str, bool, Calibration]] = {}
    for row, calibration in in_force(reader, Calibration, record.info.oven):
        if row.utc_s <= record.info.started_utc:
            day = say_day(row.utc_s)
            applied = row.number in record.header.commissioning
            found[calibration.sensor] = (day, applied, calibration)
    return found


def _survey_then(reader: Reader, record: Record) -> tuple[str, Survey] | None:
    found = [
        (say_day(row.utc_s), survey)
        for row, survey in in_force(reader, Survey, record.info.oven)
        if row.utc_s <= record.info.started_utc
    ]
    return found[-1] if found else None


def _sensors(reader: Reader, record: Record) -> Rows:
    oven, calibrations = _oven(record), calibrated_then(reader, record)
    rows: list[tuple[str, str]] = []
    for name in ("process", "second", "load"):
        signal = getattr(oven.signal, name) if oven is not None else None
        if signal is not None:
            kind = "type not stated" if signal.couple == "other" else f"type {signal.couple}"
            rows.append(
                (name, f"{kind}, resolution {signal.step_k:g} K, {_corrected(calibrations.get(name))}")
            )
    if oven is None:
        rows.append(("sensors", "the oven file was not kept with this run"))
    survey = _survey_then(reader, record)
    rows.append(
        (
            "uniformity",
            f"{survey[0]}: {orientation(survey[1].low_k, survey[1].high_k)}" if survey else "not surveyed",
        )
    )
    return tuple(rows)


def _corrected(found: tuple[str, bool, Calibration] | None) -> str:
    if found is None:
        return "no correction in force"
    day, applied, calibration = found
    left = "not measured again" if calibration.as_left_k is None else f"{calibration.as_left_k:+.1f} K"
    correction = Correction(calibration.gain, calibration.offset_c)
    said = "corrected" if applied else "NOT APPLIED in this run: calibration of"
    return (
        f"{said} {day}: gain {correction.gain:.5f}, offset {correction.offset_c:+.3f} °C; as found "
        f"{calibration.as_found_k:+.1f} K, as left {left}; reference {calibration.reference}"
    )


def uncertainty(reader: Reader, record: Record) -> Statement | None:
    """Return the uncertainty at the highest temperature of the run; None where the sensor is unknown."""
    oven, peak_c = _oven(record), record.info.peak_c
    if peak_c is None and len(record.curve):
        process_c = record.curve.column("process_c")
        peak_c = None if np.isnan(process_c).all() else float(np.nanmax(process_c))
    if oven is None or peak_c is None or oven.signal.process.couple == "other":
        return None
    couple = oven.signal.process.couple
    components = [
        Component(
            "sensor",
            class_2_k(couple, peak_c),
            f"type {couple}, class 2 of IEC 60584-1, new wire, {peak_c:.0f} °C",
        ),
        Component("instrument", INSTRUMENT_K, "assumed for converter and cold junction, common practice"),
    ]
    survey, missing = _survey_then(reader, record), [DRIFT_OF_K] if couple == "K" else []
    if survey is not None:
        band_k = max(abs(survey[1].low_k), abs(survey[1].high_k))
        components.append(
            Component("uniformity", band_k, f"survey of {survey[0]} at {survey[1].at_c:.0f} °C")
        )
    else:
        missing.append("uniformity of the chamber (not surveyed): other places may be further off")
    return combine(tuple(components), tuple(missing))


def _uncertainty_rows(statement: Statement | None) -> Rows:
    if statement is None:
        return (("oven temperature", "not stated: the sensor type is unknown"),)
    rows = [("oven temperature", f"±{statement.expanded_k:.1f} K, coverage factor 2")]
    rows += [(c.name, f"±{c.half_width_k:.1f} K: {c.source}") for c in statement.components]
    return tuple(rows)


def _happened(events: Iterable[Event], most: int = 9) -> Rows:
    rows = [
        (f"{_clock(e.at_s)} {e.kind}", _told(e))
        for e in events
        if e.kind in ("alarm", "trip", "answer", "mark", "adjust") or e.kind.startswith("heat not")
    ]
    more = len(rows) - most
    if more > 0:
        rows = [*rows[:most], ("", f"and {more} more; the json export has all of them")]
    return tuple(rows) or (("", "none"),)


def _afterwards(reader: Reader, record: Record) -> Rows:
    """Return what was last noted of the run after its end; tests stand with the treatment."""
    noted = read(reader, Note, run=record.info.run)
    more = (
        ((("", f"and {len(noted) - 5} earlier notes; `kilnctl part` tells them")),) if len(noted) > 5 else ()
    )
    return (*more, *(("after the end", note.text) for note in noted[-5:]))


def _told(event: Event) -> str:
    reason = event.data.get("reason") or event.data.get("note") or ""
    data = event.data
    said = [str(data[name]) for name in ("what", "reply") if name in data]
    said += [f"by {say_duration(data['by_s'])}"] if isinstance(data.get("by_s"), int | float) else []
    said += [f"to {data['to_c']:.0f} °C"] if isinstance(data.get("to_c"), int | float) else []
    said += [stamp_words(data)] if "mark" in data else []
    said += [str(data["text"])] if data.get("mark") == "result" else []
    changed = " ".join(said)
    return "; ".join(word for word in (event.text, changed, str(reason)) if word)


def _clock(at_s: float) -> str:
    minutes = int(at_s // 60)
    return f"{minutes // 60}:{minutes % 60:02d}"


HEAD = ("", "segment", "asked", "from", "to", "rate, K/h", "soaked", "low to high, °C", "over, K")


def _table(parts: tuple[Achieved, ...]) -> tuple[tuple[str, ...], ...]:
    return (HEAD, *(_line(part) for part in parts))


def _line(part: Achieved) -> tuple[str, ...]:
    rate = "" if part.rate_c_per_h is None else f"{part.rate_c_per_h:+.0f}"
    held = "" if part.low_c is None or part.high_c is None else f"{part.low_c:.1f} to {part.high_c:.1f}"
    return (
        str(part.index + 1),
        part.label,
        asked(part),
        _clock(part.started_s),
        _clock(part.ended_s),
        rate,
        "" if part.soak_s is None else say_duration(part.soak_s),
        held,
        f"{part.overshoot_k:+.1f}" if part.overshoot_k and part.overshoot_k > 0.0 else "",
    )


def asked(part: Achieved) -> str:
    """Return what was asked of a segment in a few words."""
    goal = "no heat" if part.goal_c is None else f"{part.goal_c:.0f} °C"
    if part.kind == "operator":
        return f"a person, {goal} meanwhile"
    if part.soak_asked_s is not None:
        return f"{goal} for {say_duration(part.soak_asked_s)}"
    if part.rate_asked_c_per_h is not None:
        return f"{goal} at {part.rate_asked_c_per_h:.0f} K/h"
    return goal


def _not_measured(reader: Reader, record: Record, statement: Statement | None) -> tuple[str, ...]:
    has = {name for name, c in record.curve.columns().items() if len(c) and not np.isnan(c).all()}
    found = [] if "load_c" in has else ["temperature of the part (the curve shows an estimate)"]
    found += [] if "second_c" in has else ["a second sensor"]
    found += ["supply voltage and heater current", "atmosphere and scale", "cooling outside the oven"]
    found += [] if _tests(reader, record) else ["hardness"]
    found += list(statement.missing) if statement is not None else ["uncertainty of the temperature"]
    found += [event.text.rstrip(".") for event in record.events if event.kind == "not checked"]
    return tuple(found)
