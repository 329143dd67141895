"""From a runner to the record: one sample a tick, one summary at the end."""

from typing import Any

from kilnctl.heat.heat_state import Heat
from kilnctl.heat.unpowered import never_heated
from kilnctl.logbook.sample import Sample, quality_code, state_code
from kilnctl.readings import Reading, Scan
from kilnctl.treatment.consequence import predicted_hrc


def sample_of(heat: Heat, scan: Scan) -> Sample:
    """Return the sample of this tick; it carries the whole cursor, so a restart needs nothing else."""
    cursor, process, dose = heat.cursor, scan.process, heat.dose
    return Sample(
        elapsed_s=heat.elapsed_s,
        utc_s=heat.utc_s,
        state=state_code(heat.state),
        segment=cursor.segment,
        setpoint_c=cursor.setpoint_c,
        process_c=process.value,
        duty=heat.duty,
        heat_on=scan.heat_on,
        raw_count=process.raw,
        second_c=_value(scan.second),
        load_c=_value(scan.load),
        part_c=heat.part_c,
        contactor_on=scan.contactor_on,
        unexplained=heat.unexplained,
        segment_s=cursor.segment_s,
        soak_oven_s=cursor.soak_oven_s,
        soak_part_s=cursor.soak_part_s,
        dose20_s=None if dose is None else dose.equivalent20_s,
        dose_c_s=None if dose is None else dose.equivalent_c_s,
        energy_kwh=heat.tally.energy_kwh,
        quality=quality_code(process.quality),
    )


def _value(reading: Reading | None) -> float | None:
    return None if reading is None else reading.value


def summary_of(heat: Heat, outcome: str, heat_off: bool) -> dict[str, Any]:
    """Return the summary of the command contract, without run number and chain."""
    oven, tally, steel = heat.station.oven, heat.tally, heat.station.steel
    return {
        "predicted_hrc": predicted_hrc(heat.profile, steel) if steel and outcome == "complete" else None,
        "outcome": outcome,
        "cause": heat.cause,
        "oven": oven.name,
        "simulated": oven.simulated,
        "duration_s": round(heat.elapsed_s, 1),
        "energy_kwh": round(tally.energy_kwh, 4),
        "peak_c": tally.peak_c,
        "heat_off_confirmed": heat_off,
        "never_heated": never_heated(heat),
        "segments": [segment.result() for segment in tally.segments],
        "treatment": heat.station.treatment_summary(heat.dose, heat.profile, heat.looks),
        "alarms": heat.alarms.summary(),
        "oven_note": heat.oven_note,
        "record": {"complete": heat.recorder.complete},
    }
