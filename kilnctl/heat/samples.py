"""From a heat to the record: one sample a tick, one summary at the end."""

from collections.abc import Iterable
from typing import Any

from kilnctl.heat.heat_state import Heat, HeatState
from kilnctl.heat.unpowered import never_heated
from kilnctl.logbook.sample import Sample, quality_code, state_code
from kilnctl.readings import Reading, Scan
from kilnctl.treatment.consequence import predicted_hrc
from kilnctl.treatment.outcome import PartSample


def sample_of(now: HeatState, scan: Scan) -> Sample:
    """Return the sample of this tick; it carries the whole cursor, so a restart needs nothing else."""
    cursor, process, dose = now.cursor, scan.process, now.dose
    return Sample(
        elapsed_s=now.elapsed_s,
        utc_s=now.utc_s,
        state=state_code(now.state),
        segment=cursor.segment,
        setpoint_c=cursor.setpoint_c,
        process_c=process.value,
        duty=now.duty,
        heat_on=scan.heat_on,
        raw_count=process.raw,
        second_c=_value(scan.second),
        load_c=_value(scan.load),
        part_c=now.part_c,
        contactor_on=scan.contactor_on,
        unexplained=now.unexplained,
        segment_s=cursor.segment_s,
        soak_oven_s=cursor.soak_oven_s,
        soak_part_s=cursor.soak_part_s,
        dose20_s=None if dose is None else dose.equivalent20_s,
        dose_c_s=None if dose is None else dose.equivalent_c_s,
        energy_kwh=now.totals.energy_kwh,
        quality=quality_code(process.quality),
    )


def _value(reading: Reading | None) -> float | None:
    return None if reading is None else reading.value


def summary_of(
    heat: Heat, now: HeatState, looks: Iterable[PartSample], outcome: str, heat_off: bool
) -> dict[str, Any]:
    """Return the summary of the command contract, without run number and chain."""
    oven, totals, steel = heat.station.oven, now.totals, heat.station.steel
    return {
        "predicted_hrc": predicted_hrc(now.profile, steel) if steel and outcome == "complete" else None,
        "outcome": outcome,
        "cause": now.cause,
        "oven": oven.name,
        "simulated": oven.simulated,
        "duration_s": round(now.elapsed_s, 1),
        "energy_kwh": round(totals.energy_kwh, 4),
        "peak_c": totals.peak_c,
        "heat_off_confirmed": heat_off,
        "never_heated": never_heated(heat, now),
        "segments": [segment.result() for segment in totals.segments],
        "treatment": heat.station.treatment_summary(now.dose, now.profile, looks),
        "alarms": now.alarms.summary(),
        "oven_note": now.oven_note,
        "record": {"complete": heat.recorder.complete},
    }
