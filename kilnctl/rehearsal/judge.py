"""Judges a heat on the truth of the simulator, never on the program's own log."""

from dataclasses import dataclass, field

from kilnctl.profile.segments import Soak
from kilnctl.rehearsal.dry_run import Rehearsal
from kilnctl.rehearsal.expected import EXPECTED
from kilnctl.runtime.job import Outcome
from kilnctl.runtime.runner import Runner
from simulator.faults import Fault

# The true temperature may pass the machine's limit by this much while a fault is found and the heat fades.
MARGIN_K = 25.0
# A heat called complete must truly have soaked this near, on average.
SOAK_K = 12.0
# After the end no heat may flow for this long.
AFTER_S = 120.0
# Heat may flow this long after a trip, as long as the wire works.
OFF_WITHIN_S = 3.0


@dataclass(slots=True)
class Watch:
    """Follows one heat from the outside, tick by tick."""

    rehearsal: Rehearsal | None = None
    fault_s: float = float("inf")
    exposed_s: float = 0.0
    segment_kind: str = ""
    errors: dict[int, tuple[float, int]] = field(default_factory=dict)
    heat_after_trip_s: float = 0.0

    def __call__(self, runner: Runner) -> None:
        """See one tick."""
        assert self.rehearsal is not None
        plant, segment = self.rehearsal.board.plant, runner.segment
        if runner.state == "tripped":
            self.heat_after_trip_s += plant.power_w > 0.0
        elif runner.elapsed_s > self.fault_s:
            if not self.segment_kind:
                self.segment_kind = runner.segment_kind
            self.exposed_s += runner.cursor.setpoint_c is not None and runner.state == "running"
        if isinstance(segment, Soak) and runner.cursor.reached:
            total, count = self.errors.get(runner.cursor.segment, (0.0, 0))
            error_k = plant.sensor.junction_c - segment.at_c
            self.errors[runner.cursor.segment] = (total + error_k, count + 1)

    def worst_soak_k(self) -> float:
        """Return the largest mean true deviation of any soak."""
        return max((abs(total / count) for total, count in self.errors.values()), default=0.0)


@dataclass(frozen=True, slots=True)
class Verdict:
    """How one faulted heat ended. `unsafe` and `wrong` are sentences, empty when all is well.

    `after_s` is the exposure (seconds of wanted heat) until the heat was cut; `saved_by` what stood in
    where software did not see the fault.
    """

    seed: int
    oven: str
    faults: tuple[str, ...]
    segment_kind: str
    outcome: str
    cause: str
    after_s: float
    peak_c: float
    unsafe: str = ""
    wrong: str = ""
    late: bool = False
    other_cause: bool = False
    saved_by: str = ""


def judge(
    seed: int, rehearsal: Rehearsal, outcome: Outcome, watch: Watch, faults: tuple[Fault, ...]
) -> Verdict:
    """Return the verdict over a finished heat; lets two more minutes pass to see that the heat stays off."""
    runner, board = rehearsal.runner, rehearsal.board
    limit_c = rehearsal.station.oven.limit_c
    stays_off = _stays_off(rehearsal)
    truth = board.truth()
    peak_c = max(truth.peak_place_c, truth.peak_part_c or truth.peak_place_c)
    unsafe = ""
    if not stays_off:
        unsafe = "heat flows after the end"
    elif peak_c > limit_c + MARGIN_K:
        unsafe = f"truly {peak_c:.0f} °C, limit {limit_c:.0f} °C"
    elif watch.heat_after_trip_s > _off_within_s(rehearsal):
        unsafe = f"heat for {watch.heat_after_trip_s:.0f} s after the trip"
    elif outcome.outcome == "complete" and not outcome.heat_off:
        unsafe = "complete without off read back"
    cause = runner.trip.kind if runner.trip is not None else ""
    blind = _blind(rehearsal, faults)
    off_goal = outcome.outcome == "complete" and watch.worst_soak_k() > SOAK_K
    wrong = f"complete, but a soak was {watch.worst_soak_k():.0f} K off" if off_goal and not blind else ""
    first = EXPECTED[faults[0].name] if faults else None
    causes = tuple(c for f in faults for c in EXPECTED[f.name].causes)
    return Verdict(
        seed=seed,
        oven=rehearsal.station.oven.name,
        faults=tuple(_say(f) for f in faults),
        segment_kind=watch.segment_kind,
        outcome=outcome.outcome,
        cause=cause,
        after_s=watch.exposed_s,
        peak_c=peak_c,
        unsafe=unsafe,
        wrong=wrong,
        late=bool(
            first and len(faults) == 1 and not blind and first.causes and watch.exposed_s > first.within_s
        ),
        other_cause=bool(cause and cause not in causes),
        saved_by=blind if off_goal or truth.limit_open else "",
    )


def _off_within_s(rehearsal: Rehearsal) -> float:
    """Return how long heat may flow after a trip: with the wire lost, only the dead-man can cut it."""
    trip, dead_man = rehearsal.runner.trip, rehearsal.station.oven.dead_man
    if trip is not None and trip.kind == "link_lost" and dead_man is not None:
        return dead_man.drops_after_s
    return OFF_WITHIN_S


def _stays_off(rehearsal: Rehearsal) -> bool:
    board, energy_j = rehearsal.board, rehearsal.board.plant.energy_j
    board.step(15.0)  # the longest dead-man runs out
    energy_j = board.plant.energy_j
    board.step(AFTER_S)
    return board.plant.energy_j - energy_j < 1.0


def _blind(rehearsal: Rehearsal, faults: tuple[Fault, ...]) -> str:
    """Return what stands in where one of the faults cannot be seen on this oven, empty where all can."""
    signal = rehearsal.station.oven.signal
    for fault in faults:
        row = EXPECTED[fault.name]
        if row.blind and (not row.needs or any(getattr(signal, name) is None for name in row.needs)):
            return row.blind
    return ""


def _say(fault: Fault) -> str:
    value = "" if fault.value is None else f":{fault.value:g}"
    lasting = "" if fault.for_s == float("inf") else f"~{fault.for_s:.0f}s"
    return f"{fault.name}@{fault.at_s:.0f}s{value}{lasting}"
