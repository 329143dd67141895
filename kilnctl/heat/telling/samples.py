"""From a heat to the record: one sample a tick, one summary at the end."""

from collections.abc import Iterable
from typing import Any

from kilnctl.heat.heat_state import Heat, HeatState, part_c_of
from kilnctl.heat.unpowered import only_watched
from kilnctl.logbook.sample import Sample, quality_code, state_code
from kilnctl.readings import Scan
from kilnctl.treatment.consequence import predicted_hrc
from kilnctl.treatment.outcome import PartSample


def sample_of(now: HeatState, scan: Scan) -> Sample:
    """Return the sample of this tick; it carries the whole cursor, so a restart needs nothing else."""
    cursor, process, dose = now.cursor, scan.process, now.dose
    second, load = scan.second, scan.load
    # In the order of the fields: twenty-one names would cost 3 microseconds in every tick.
    return Sample(
        now.elapsed_s,
        now.utc_s,
        state_code(now.state),
        cursor.segment,
        cursor.setpoint_c,
        process.value,
        now.duty,
        scan.heat_on,
        process.raw,
        None if second is None else second.value,
        None if load is None else load.value,
        part_c_of(scan, now.part),
        scan.contactor_on,
        now.unexplained,
        cursor.segment_s,
        cursor.soak_oven_s,
        cursor.soak_part_s,
        None if dose is None else dose.equivalent20_s,
        None if dose is None else dose.equivalent_c_s,
        now.totals.energy_kwh,
        quality_code(process.quality),
    )


def summary_of(
    heat: Heat, now: HeatState, looks: Iterable[PartSample], outcome: str, heat_off: bool
) -> dict[str, Any]:
    """Return the summary of the command contract, without run number and chain."""
    oven, totals, steel = heat.station.oven, now.totals, heat.station.steel
    finished, skin = outcome == "complete", heat.station.skin
    over_k = None if skin is None else skin.tempered_over_k()
    return {
        "predicted_hrc": predicted_hrc(now.profile, steel, now.dose, over_k) if steel and finished else None,
        "outcome": outcome,
        "cause": now.cause,
        "oven": oven.name,
        "simulated": oven.simulated,
        "duration_s": round(now.elapsed_s, 1),
        "energy_kwh": round(totals.energy_kwh, 4),
        "peak_c": totals.peak_c,
        "heat_off_confirmed": heat_off,
        "never_heated": only_watched(heat, now) and now.trip is None,
        "segments": [segment.result() for segment in totals.segments],
        "treatment": heat.station.treatment_summary(now.dose, now.profile, looks),
        "alarms": now.alarms.summary(),
        "oven_note": now.oven_note,
        "record": {"complete": heat.recorder.complete},
    }
