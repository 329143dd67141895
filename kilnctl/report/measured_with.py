"""What a heat was measured with: sensors and corrections in force then, and the uncertainty left."""

import numpy as np

from kilnctl.care.calibration import Correction, calibrated_error_k, calibrations_of, reference_words
from kilnctl.care.due import overdue_on
from kilnctl.care.survey import orientation, why_ended
from kilnctl.clock import say_day
from kilnctl.config.oven import Oven
from kilnctl.logbook.entries import Calibration, Survey, in_force
from kilnctl.logbook.readers import Reader
from kilnctl.report.layout.document import Rows
from kilnctl.report.record import Record
from kilnctl.report.uncertainty import DRIFT_OF_K, INSTRUMENT_K, Component, Statement, combine, wire_k

NAMES = {"process": "oven sensor", "second": "second sensor", "load": "sensor at the part"}


def calibrated_then(reader: Reader, record: Record) -> dict[str, tuple[str, bool, Calibration]]:
    """Return each sensor's newest calibration before the run: its day, whether the run applied it, itself."""
    started_utc, applied = record.info.started_utc, record.header.commissioning
    return {
        sensor: (say_day(row.utc_s), row.number in applied, found)
        for sensor, (row, found) in calibrations_of(reader, record.info.oven, started_utc).items()
    }


def _survey_then(reader: Reader, record: Record) -> tuple[str, Survey, str] | None:
    """Return the newest survey before the run: its day, itself, and why it no longer counted then."""
    started_utc = record.info.started_utc
    every = in_force(reader, Survey, record.info.oven)
    row, survey = next(((r, s) for r, s in reversed(list(every)) if r.utc_s <= started_utc), (None, None))
    if row is None or survey is None:
        return None
    oven = record.oven
    why = "" if oven is None else why_ended(reader, oven, row.utc_s, survey, started_utc)
    return say_day(row.utc_s), survey, why


def sensors(reader: Reader, record: Record) -> Rows:
    """Return the sensors of a run, each with the correction that was in force."""
    oven, calibrations = record.oven, calibrated_then(reader, record)
    rows: list[tuple[str, str]] = []
    for name in ("process", "second", "load"):
        signal = getattr(oven.signal, name) if oven is not None else None
        if signal is not None:
            kind = "type not stated" if signal.couple == "other" else f"type {signal.couple}"
            rows.append(
                (NAMES[name], f"{kind}, resolution {signal.step_k:g} K, {_corrected(calibrations.get(name))}")
            )
    if oven is None:
        rows.append(("sensors", "the oven file was not kept with this run"))
    late = overdue_on(reader, record.info.oven, record.info.started_utc)
    rows += [("overdue when it began", "; ".join(late))] if late else []
    rows.append(("uniformity", _uniformity(_survey_then(reader, record))))
    return tuple(rows)


def _uniformity(survey: tuple[str, Survey, str] | None) -> str:
    if survey is None:
        return "not surveyed"
    day, found, why = survey
    if why:
        return f"not surveyed as it was then: the survey of {day} no longer counted, {why}"
    return f"{day}: {orientation(found.low_k, found.high_k)}"


def _corrected(dated: tuple[str, bool, Calibration] | None) -> str:
    if dated is None:
        return "no correction in force"
    day, applied, calibration = dated
    left = "not measured again" if calibration.as_left_k is None else f"{calibration.as_left_k:+.1f} K"
    correction = Correction(calibration.gain, calibration.offset_c)
    said = "corrected" if applied else "NOT APPLIED in this run: calibration of"
    return (
        f"{said} {day}: gain {correction.gain:.5f}, offset {correction.offset_c:+.3f} °C; as found "
        f"{calibration.as_found_k:+.1f} K, as left {left}; reference {reference_words(calibration)}"
    )


def uncertainty(reader: Reader, record: Record) -> Statement | None:
    """Return the uncertainty at the highest temperature of the run; None where the sensor is unknown."""
    oven, peak_c = record.oven, record.info.peak_c
    if peak_c is None and len(record.curve):
        process_c = record.curve.column("process_c")
        peak_c = None if np.isnan(process_c).all() else float(np.nanmax(process_c))
    if oven is None or peak_c is None or oven.signal.process.couple == "other":
        return None
    couple = oven.signal.process.couple
    components = _sensor(reader, record, oven, peak_c)
    survey, missing = _survey_then(reader, record), [DRIFT_OF_K] if couple == "K" else []
    if survey is not None and not survey[2]:
        band_k = max(abs(survey[1].low_k), abs(survey[1].high_k))
        components.append(
            Component("uniformity", band_k, f"survey of {survey[0]} at {survey[1].at_c:.0f} °C")
        )
    else:
        missing.append("uniformity of the chamber (not surveyed): other places may be further off")
    return combine(tuple(components), tuple(missing))


def _sensor(reader: Reader, record: Record, oven: Oven, peak_c: float) -> list[Component]:
    """Return the limits of error of the sensor: of a calibration that was applied, else of new wire."""
    day, applied, calibration = calibrated_then(reader, record).get("process", ("", False, None))
    if calibration is not None and applied:
        limit_k = calibrated_error_k(calibration, peak_c)
        source = f"calibrated {day} with its converter, at {peak_c:.0f} °C; {reference_words(calibration)}"
        return [Component("sensor", limit_k, source)]
    process = oven.signal.process
    standard = "IEC 60584-1" if process.wire.startswith("class") else "ASTM E230"
    source = f"type {process.couple}, {process.wire} of {standard}, new wire, {peak_c:.0f} °C"
    return [
        Component("sensor", wire_k(process.couple, process.wire, peak_c), source),
        Component("instrument", INSTRUMENT_K, "assumed for converter and cold junction, common practice"),
    ]


def uncertainty_rows(statement: Statement | None) -> Rows:
    """Return an uncertainty and its parts."""
    if statement is None:
        return (("oven temperature", "not stated: the sensor type is unknown"),)
    rows = [("oven temperature", f"±{statement.expanded_k:.1f} K, coverage factor 2")]
    rows += [(c.name, f"±{c.half_width_k:.1f} K: {c.source}") for c in statement.components]
    return tuple(rows)
