"""From a runner to the record: one sample a tick, one summary at the end."""

from typing import TYPE_CHECKING, Any

from kilnctl.logbook.sample import Sample, quality_code, state_code
from kilnctl.readings import Reading, Scan
from kilnctl.runtime.unpowered import never_heated
from kilnctl.treatment.consequence import predicted_hrc

if TYPE_CHECKING:
    from kilnctl.runtime.runner import Runner


def sample_of(runner: "Runner", scan: Scan) -> Sample:
    """Return the sample of this tick; it carries the whole cursor, so a restart needs nothing else."""
    cursor, process, dose = runner.cursor, scan.process, runner.dose
    return Sample(
        elapsed_s=runner.elapsed_s,
        utc_s=runner.utc_s,
        state=state_code(runner.state),
        segment=cursor.segment,
        setpoint_c=cursor.setpoint_c,
        process_c=process.value,
        duty=runner.duty,
        heat_on=scan.heat_on,
        raw_count=process.raw,
        second_c=_value(scan.second),
        load_c=_value(scan.load),
        part_c=runner.part_c,
        contactor_on=scan.contactor_on,
        unexplained=runner.unexplained,
        segment_s=cursor.segment_s,
        soak_oven_s=cursor.soak_oven_s,
        soak_part_s=cursor.soak_part_s,
        dose20_s=None if dose is None else dose.equivalent20_s,
        dose_c_s=None if dose is None else dose.equivalent_c_s,
        energy_kwh=runner.tally.energy_kwh,
        quality=quality_code(process.quality),
    )


def _value(reading: Reading | None) -> float | None:
    return None if reading is None else reading.value


def summary_of(runner: "Runner", outcome: str, heat_off: bool) -> dict[str, Any]:
    """Return the summary of the command contract, without run number and chain."""
    oven, tally, steel = runner.station.oven, runner.tally, runner.station.steel
    return {
        "predicted_hrc": predicted_hrc(runner.profile, steel) if steel and outcome == "complete" else None,
        "outcome": outcome,
        "cause": runner.cause,
        "oven": oven.name,
        "simulated": oven.simulated,
        "duration_s": round(runner.elapsed_s, 1),
        "energy_kwh": round(tally.energy_kwh, 4),
        "peak_c": tally.peak_c,
        "heat_off_confirmed": heat_off,
        "never_heated": never_heated(runner),
        "segments": [segment.result() for segment in tally.segments],
        "treatment": runner.station.treatment_summary(runner.dose, runner.profile, runner.looks),
        "alarms": runner.alarms.summary(),
        "oven_note": runner.oven_note,
        "record": {"complete": runner.recorder.complete},
    }
