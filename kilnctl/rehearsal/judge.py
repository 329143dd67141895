"""Judges a heat on the truth of the simulator, never on the program's own log."""

from dataclasses import dataclass, field
from math import inf

from kilnctl.config.oven import Oven
from kilnctl.logbook.readers import Reader
from kilnctl.profile.segments import Operator, Soak
from kilnctl.rehearsal.dry_run import Rehearsal
from kilnctl.rehearsal.expected import EXPECTED, Counts, Expected, row_of
from kilnctl.runtime.job import Outcome
from kilnctl.runtime.runner import Runner
from kilnctl.stages import LIVE
from simulator.faults import Fault
from simulator.script import Script

# What is hot is where the sensor sits (as a faultless one would show it) and the part's skin.
# They may pass what is allowed by this much while a fault is found and the heat fades.
MARGIN_K = 25.0
# Allowed is the plan's highest temperature plus this, at most the machine's limit, where software sees the
# fault; the machine's limit alone where only the independent limit can cut the heat.
OVER_PLAN_K = 15.0
# A heat called complete must truly have soaked this near, on average, and for nearly all of its time.
SOAK_K = 12.0
SOAK_SHARE = 0.95
# After the end no heat may flow for this long.
AFTER_S = 120.0
DEAD_MAN_S = 15.0
# Heat may flow this long after a trip, as long as the wire works.
OFF_WITHIN_S = 3.0
# What software sees of an independent limit that has opened: its contact, or an element that is dead.
LIMIT_SPEAKS = {"limit_open", "heater_dead", "energy_balance", "no_progress"}
COUNTED: tuple[Counts, ...] = ("wanted", "asked", "full", "live", "door", "unasked")
FULL = 0.7
LINE = ("replies", "power-cut", "foreign")
STUCK = ("relay-welded", "half-wave")
UNGUARDED = {"dead-man-stuck", "boots-on"}  # a board that boots with heat has no dead-man here
CONTACT = ("heater_live", "current_a")


@dataclass(slots=True)
class _Soaked:
    """What a soak truly was: sum of errors, seconds, and seconds inside its band and the margin."""

    error_k: float = 0.0
    seconds: float = 0.0
    inside_s: float = 0.0


@dataclass(slots=True)
class Watch:
    """Follows one heat from the outside, tick by tick.

    A heat that is not over after `longest_s` is stopped: a reading that is wrong may never reach its goal.
    `exposed_s` counts, for each way of counting, the seconds from the fault to its end or a trip.
    """

    faults: tuple[Fault, ...] = ()
    rehearsal: Rehearsal | None = None
    longest_s: float = inf
    segment_kind: str = ""
    exposed_s: dict[str, float] = field(default_factory=lambda: dict.fromkeys(COUNTED, 0.0))
    soaks: dict[int, _Soaked] = field(default_factory=dict)
    heat_after_trip_s: float = 0.0
    before_c: float = 0.0
    ticks: int = 0

    def __call__(self, runner: Runner) -> None:
        """See one tick."""
        assert self.rehearsal is not None
        plant, segment = self.rehearsal.board.plant, runner.segment
        self.ticks += 1
        if runner.elapsed_s > self.longest_s:
            runner.off("the rehearsal's time is over")
        if runner.state == "tripped":
            self.heat_after_trip_s += plant.power_w > 0.0
            return
        if self.faults and runner.elapsed_s > self.faults[0].at_s:
            self._expose(runner, plant.sensor.junction_c)
        if isinstance(segment, Soak) and runner.cursor.reached:
            read_c = runner.scan.process.value if runner.scan is not None else None
            if read_c is not None and abs(read_c - segment.at_c) <= segment.band_k:  # else it is not credited
                self._soak(runner.cursor.segment, segment, plant.sensor.junction_c)

    def _expose(self, runner: Runner, true_c: float) -> None:
        assert self.rehearsal is not None
        first = self.faults[0]
        if not self.segment_kind:
            self.segment_kind, self.before_c = runner.segment_kind or "end", true_c
        if runner.elapsed_s > first.at_s + first.for_s or runner.state not in LIVE:
            return
        held = runner.cursor.setpoint_c is not None
        self.exposed_s["live"] += 1.0
        self.exposed_s["wanted"] += held and runner.state == "running"
        self.exposed_s["asked"] += runner.request.on
        self.exposed_s["full"] += runner.duty >= FULL
        unasked = not runner.request.on and self.rehearsal.board.contactor_closed()
        self.exposed_s["unasked"] += unasked
        self.exposed_s["door"] += held and not isinstance(runner.segment, Operator)

    def _soak(self, index: int, segment: Soak, true_c: float) -> None:
        soaked = self.soaks.get(index)
        if soaked is None:
            soaked = self.soaks[index] = _Soaked()
        error_k = true_c - segment.at_c
        soaked.error_k += error_k
        soaked.seconds += 1.0
        soaked.inside_s += abs(error_k) <= segment.band_k + SOAK_K

    def off_goal(self) -> str:
        """Say which soak was not truly what it should have been, empty where all were."""
        assert self.rehearsal is not None
        for index, soaked in self.soaks.items():
            segment = self.rehearsal.runner.profile.segments[index]
            assert isinstance(segment, Soak)
            mean_k = soaked.error_k / soaked.seconds
            if abs(mean_k) > SOAK_K:
                return f"a soak was {mean_k:+.0f} K off"
            if soaked.inside_s < SOAK_SHARE * segment.soak_s:
                return f"a soak of {segment.soak_s:.0f} s was {soaked.inside_s:.0f} s near its goal"
        return ""


@dataclass(frozen=True, slots=True)
class Verdict:
    """How one heat ended. `unsafe` and `wrong` are sentences, empty when all is well.

    `seen` is True where software can see the first fault on this oven. `found_s` are the seconds from the
    fault's beginning to the trip, None without one; `exposed_s` those that count for its row. `late`: seen,
    and the exposure was longer than its row allows. `other_cause`: the trip names none of the row's causes.
    `false_trip`: a trip before any fault. `stands_in`: what protected where software could not see.
    """

    seed: int
    oven: str
    faults: tuple[str, ...]
    rows: tuple[str, ...]
    segment_kind: str
    outcome: str
    cause: str
    peak_c: float
    seen: bool = True
    at_c: float = 0.0
    found_s: float | None = None
    exposed_s: float = 0.0
    unsafe: str = ""
    wrong: str = ""
    late: bool = False
    other_cause: bool = False
    false_trip: str = ""
    stands_in: str = ""
    untrue: str = ""

    @property
    def failed(self) -> bool:
        """True where anything was not as it must be."""
        return bool(self.unsafe or self.wrong or self.late or self.other_cause or self.false_trip)


def judge(seed: int, rehearsal: Rehearsal, outcome: Outcome, watch: Watch) -> Verdict:
    """Return the verdict over a finished heat; lets two more minutes pass to see that the heat stays off."""
    runner, faults = rehearsal.runner, watch.faults
    trip, oven = runner.trip, rehearsal.station.oven
    rows = [EXPECTED[row_of(f)] for f in faults]
    hidden = unseen(oven, rehearsal.learned, faults)
    unsafe, peak_c = _unsafe(rehearsal, outcome, watch, bool(hidden))
    untrue = watch.off_goal() if outcome.outcome == "complete" else ""
    excused = untrue and any(row.lies for row in hidden)
    first_s = min((f.at_s for f in faults), default=inf)
    early = trip is not None and trip.at_s - runner.started_s <= first_s and first_s > 0.0
    counts, within_s = rows[0].within(watch.before_c - oven.ambient_c) if rows else ("wanted", inf)
    exposed_s = watch.exposed_s[counts]
    seen = bool(rows) and rows[0].visible(oven, rehearsal.learned)
    causes = {cause for row in rows for cause in row.causes}
    if rehearsal.board.limit_open:
        causes |= LIMIT_SPEAKS
    return Verdict(
        seed=seed,
        oven=oven.name,
        faults=tuple(_say(f) for f in faults),
        rows=tuple(row_of(f) for f in faults),
        segment_kind=watch.segment_kind,
        outcome=outcome.outcome,
        cause=trip.kind if trip is not None else "",
        peak_c=peak_c,
        seen=seen,
        at_c=watch.before_c,
        found_s=trip.at_s - runner.started_s - faults[0].at_s if trip and faults else None,
        exposed_s=exposed_s,
        unsafe=unsafe or _record(rehearsal, watch, outcome),
        wrong=f"complete, but {untrue}" if untrue and not excused else "",
        late=seen and len(faults) == 1 and exposed_s > within_s,
        other_cause=trip is not None and not early and trip.kind not in causes,
        false_trip=f"{trip.kind}: {trip.reason}" if trip is not None and early else "",
        stands_in="; ".join(row.stands_in for row in hidden if row.stands_in),
        untrue=untrue if excused else "",
    )


def unseen(oven: Oven, learned: bool, faults: tuple[Fault, ...]) -> list[Expected]:
    """Return the rows that software cannot see on this oven and something else must cover."""
    rows = [EXPECTED[row_of(f)] for f in faults]
    return [row for row in rows if row.must and row.stands_in and not row.visible(oven, learned)]


def limit_alone(faults: tuple[Fault, ...]) -> bool:
    """Return True where two layers have gone, so that nothing but the independent limit can cut the heat."""
    names = {fault.name for fault in faults}
    barriers = "contactor-welded" in names and not names.isdisjoint(STUCK)
    return barriers or (not names.isdisjoint(UNGUARDED) and any(name.startswith(LINE) for name in names))


def _unsafe(rehearsal: Rehearsal, outcome: Outcome, watch: Watch, hidden: bool) -> tuple[str, float]:
    board, oven, runner = rehearsal.board, rehearsal.station.oven, rehearsal.runner
    alone = limit_alone(watch.faults)
    stays_off = _stays_off(rehearsal, watch.faults)
    truth = board.truth()
    peak_c = max(truth.peak_place_c, truth.peak_part_c or truth.peak_place_c)
    allowed_c = oven.limit_c
    if not (hidden or alone):
        allowed_c = min(allowed_c, max(runner.profile.peak_c, watch.before_c) + OVER_PLAN_K)
    off_s = _off_within_s(rehearsal, watch.faults)
    if not stays_off and not alone:
        return "heat flows after the end", peak_c
    if not stays_off and outcome.heat_off and any(getattr(oven.signal, name) for name in CONTACT):
        return "called off while the contact shows heat", peak_c
    if peak_c > allowed_c + MARGIN_K and not (hidden and board.flaws.limit_bridged):
        return f"truly {peak_c:.0f} °C, {allowed_c:.0f} °C allowed", peak_c
    if watch.heat_after_trip_s > off_s and not alone:
        return f"heat for {watch.heat_after_trip_s:.0f} s after the trip", peak_c
    if outcome.outcome == "complete" and not outcome.heat_off:
        return "complete without off read back", peak_c
    return "", peak_c


def _record(rehearsal: Rehearsal, watch: Watch, outcome: Outcome) -> str:
    """Say what is wrong with the record: a lost sample, a trip that it does not name first."""
    recorder, trip = rehearsal.runner.recorder, rehearsal.runner.trip
    if not recorder.complete or recorder.acknowledged != watch.ticks:
        return f"the record holds {recorder.acknowledged} of {watch.ticks} ticks"
    events = Reader(rehearsal.book.connection).events(rehearsal.run_id)
    named = [event.data.get("trip_kind") for event in events if event.kind == "trip"]
    return "" if named == ([] if trip is None else [trip.kind]) else f"the record names {named}"


def _off_within_s(rehearsal: Rehearsal, faults: tuple[Fault, ...]) -> float:
    """Return how long heat may flow after a trip: with the wire lost, only the dead-man can cut it."""
    dead_man = rehearsal.station.oven.dead_man
    if dead_man is not None and any(f.name.startswith(LINE) for f in faults):
        return dead_man.drops_after_s
    return OFF_WITHIN_S


def _stays_off(rehearsal: Rehearsal, faults: tuple[Fault, ...]) -> bool:
    board = rehearsal.board
    if any(fault.at_s > rehearsal.runner.elapsed_s for fault in faults):
        board.script = Script()  # what would only begin after the end is not judged
    board.step(DEAD_MAN_S)  # the longest dead-man runs out
    energy_j = board.plant.energy_j
    board.step(AFTER_S)
    return board.plant.energy_j - energy_j < 1.0


def _say(fault: Fault) -> str:
    value = "" if fault.value is None else f":{fault.value:g}"
    lasting = "" if fault.for_s == inf else f"~{fault.for_s:.0f}s"
    return f"{fault.name}@{fault.at_s:.0f}s{value}{lasting}"
