"""Judges a heat on the simulator's truth and the hazard list's numbers, never on the program's own log."""

from collections.abc import Set
from dataclasses import dataclass
from math import inf

from kilnctl.heat.job import Outcome
from kilnctl.logbook.readers import Reader
from kilnctl.rehearsal.afterwards import STILL_ON, After, watch_after
from kilnctl.rehearsal.detection_table import ANY, EXPECTED, Detection, number_for, row_of, visible
from kilnctl.rehearsal.dry_run import Rehearsal
from kilnctl.rehearsal.heat_watch import Exposed, Watch
from kilnctl.rehearsal.lateness import ALLOWED, ELEMENT, spoiled
from simulator.boards.faults import Fault

# What is hot is where the sensor sits (as a faultless one would show it) and the part's skin. Where software
# sees the fault it may not pass the plan's highest temperature by more than the limit of the interlock and
# what fades afterwards.
OVER_PLAN_K, FADES_K = 15.0, 10.0
# Where only the independent limit can cut the heat: past its setting by what fades after it has opened.
PAST_LIMIT_K = 25.0
# Heat may flow this long after a trip, an end or an open door, as long as the wire works.
OFF_WITHIN_S = 3.0
# A heater that cannot be switched off must be told before it is so much hotter than at the end.
SILENT_K = 30.0
# What software sees of an independent limit that has opened: its contact, or an element that is dead.
LIMIT_SPEAKS = {"limit_open", "heater_dead", "energy_balance", "no_progress"}
LINE = ("replies", "power-cut", "foreign")
READS_WRONG = ("sensor-", "cold-junction-", "wrong-device", "live-says-", "board-", "boots-", "stray-")
# What passes heat though the relay was told to open: for good, or for as long as it sticks.
STUCK = ("relay-welded", "half-wave", "relay-sticky")
UNGUARDED = {"dead-man-stuck", "boots-on"}  # a board that boots with heat has no dead-man here


@dataclass(frozen=True, slots=True)
class Verdict:
    """How one heat ended. `unsafe` and `wrong` are sentences, empty when all is well.

    `seen` is True where software can see the first fault on this oven. `found_s` are the seconds from the
    fault's beginning to the trip, None without one; `exposed_s` those that count for its row. `late` says
    which fault went on for longer than its number allows. `other_cause`: the trip names none of the row's
    causes. `false_trip`: a trip before any fault. `stands_in`: what protected where software could not see.
    `untrue`: complete, and a soak was not what it should have been, on a reading that nobody could doubt.
    `unguarded`: hotter than allowed where software is blind and no independent limit was fitted.
    """

    seed: int
    oven: str
    faults: tuple[str, ...]
    rows: tuple[str, ...]
    segment_kind: str
    outcome: str
    cause: str
    peak_c: float
    noticeable: bool = True
    at_c: float = 0.0
    found_s: float | None = None
    exposed_s: float = 0.0
    unsafe: str = ""
    wrong: str = ""
    late: str = ""
    other_cause: bool = False
    false_trip: str = ""
    stands_in: str = ""
    untrue: str = ""
    unguarded: str = ""
    acts: tuple[str, ...] = ()
    limit_fitted: bool = False

    @property
    def failed(self) -> bool:
        """True where anything was not as it must be."""
        return bool(self.unsafe or self.wrong or self.late or self.other_cause or self.false_trip)


def judge(
    seed: int, rehearsal: Rehearsal, outcome: Outcome, watch: Watch, acts: tuple[str, ...] = ()
) -> Verdict:
    """Return the verdict over a finished heat; the watch after it goes on for some minutes first."""
    runner, faults = rehearsal.runner, watch.faults
    trip, first = runner.now.trip, watch.exposed[0] if watch.exposed else None
    hidden, record = blind_to(rehearsal, faults), _record(rehearsal, watch)
    after = watch_after(rehearsal)
    unsafe, unguarded, peak_c = _unsafe(rehearsal, outcome, watch, after, bool(hidden))
    wrong, untrue = _soaked(outcome, watch, hidden)
    first_s = min((f.at_s for f in faults), default=inf)
    early = trip is not None and trip.at_s - runner.clocks.started_s <= first_s and first_s > 0.0
    return Verdict(
        seed=seed,
        oven=rehearsal.station.oven.name,
        faults=tuple(_say(f) for f in faults),
        rows=tuple(row_of(f) for f in faults),
        segment_kind=first.segment_kind if first else "",
        outcome=outcome.outcome,
        cause=trip.kind if trip is not None else "",
        peak_c=peak_c,
        noticeable=first is not None
        and visible(row_of(first.fault), rehearsal.station.oven, rehearsal.learned),
        at_c=first.before_c if first else 0.0,
        found_s=trip.at_s - runner.clocks.started_s - faults[0].at_s if trip and faults else None,
        exposed_s=_exposed_s(rehearsal, first, faults),
        unsafe=unsafe or record,
        wrong=wrong,
        late="; ".join(said for exposed in watch.exposed if (said := _late(rehearsal, exposed, faults))),
        other_cause=trip is not None and not early and not _may_name(rehearsal, faults, trip.kind),
        false_trip=f"{trip.kind}: {trip.reason}"
        if trip is not None and early
        else _afterwards(rehearsal, faults, after),
        stands_in="; ".join(row.stands_in for row in hidden if row.stands_in),
        untrue=untrue,
        unguarded=unguarded,
        acts=acts,
        limit_fitted=rehearsal.board.limit_c is not None,
    )


def _may_name(rehearsal: Rehearsal, faults: tuple[Fault, ...], kind: str) -> bool:
    rows, signal = [EXPECTED[row_of(fault)] for fault in faults], rehearsal.station.oven.signal
    causes = {c for row in rows if not getattr(signal, row.sound_with or "-", None) for c in row.causes}
    return kind in causes or ANY in causes or (rehearsal.board.limit_open and kind in LIMIT_SPEAKS)


def _afterwards(rehearsal: Rehearsal, faults: tuple[Fault, ...], after: After) -> str:
    """Say what the watch after the heat has found though nothing was wrong that it could have found."""
    names = [fault.name for fault in faults]
    if not after.fresh or after.heat_s > 0.0 or any(name.startswith((*LINE, *READS_WRONG)) for name in names):
        return ""
    strange = [kind for kind in after.fresh if not _may_name(rehearsal, faults, kind)]
    return f"after the end: {', '.join(strange)}" if strange else ""


def _spoils(fault: Fault, faults: tuple[Fault, ...]) -> Set[str]:
    """Return the signals that the other faults take from this one while both last."""
    lasts = [f for f in faults if f is not fault]
    both = [f for f in lasts if f.at_s <= fault.at_s + fault.for_s and fault.at_s <= f.at_s + f.for_s]
    return frozenset(name for other in both for name in spoiled(other))


def blind_to(rehearsal: Rehearsal, faults: tuple[Fault, ...]) -> list[Detection]:
    """Return the rows that software cannot see on this oven and something else must cover."""
    oven, learned = rehearsal.station.oven, rehearsal.learned
    must = [f for f in faults if row_of(f) in ALLOWED and EXPECTED[row_of(f)].stands_in]
    blind = [f for f in must if not visible(row_of(f), oven, learned, _spoils(f, faults))]
    return [EXPECTED[row_of(f)] for f in blind]


def limit_alone(faults: tuple[Fault, ...]) -> bool:
    """Return True where two layers have gone, so that nothing but the independent limit can cut the heat."""
    names = {fault.name for fault in faults}
    barriers = "contactor-welded" in names and not names.isdisjoint(STUCK)
    return barriers or (not names.isdisjoint(UNGUARDED) and any(name.startswith(LINE) for name in names))


def _number(rehearsal: Rehearsal, exposed: Exposed, spoils: Set[str]) -> tuple[float, float, float | None]:
    """Return seconds exposed, seconds allowed, and the temperature that must not be reached."""
    oven = rehearsal.station.oven
    row = number_for(row_of(exposed.fault), oven, rehearsal.learned, exposed.places(oven), spoils)
    if row is None:
        return exposed.counted["wanted"], inf, None
    return exposed.counted[row.counts], row.within_s, row.below_c


def _exposed_s(rehearsal: Rehearsal, first: Exposed | None, faults: tuple[Fault, ...]) -> float:
    return 0.0 if first is None else _number(rehearsal, first, _spoils(first.fault, faults))[0]


def _late(rehearsal: Rehearsal, exposed: Exposed, faults: tuple[Fault, ...]) -> str:
    """Say by how much one fault went on too long, empty where it did not."""
    exposed_s, within_s, below_c = _number(rehearsal, exposed, _spoils(exposed.fault, faults))
    name = row_of(exposed.fault)
    if exposed_s > within_s:
        return f"{name} for {exposed_s:.0f} s, {within_s:.0f} s allowed"
    if below_c is not None and exposed.reached_c > max(below_c, exposed.before_c + 1.0):
        return f"{name} until {exposed.reached_c:.0f} °C, {below_c:.0f} °C allowed"
    return ""


def _soaked(outcome: Outcome, watch: Watch, hidden: list[Detection]) -> tuple[str, str]:
    """Return what is wrong with a heat that calls itself complete, and what is only untrue."""
    said, far = watch.off_goal() if outcome.outcome == "complete" else ("", False)
    lies = any(row.lies for row in hidden)
    if not far:
        lies = lies or any(EXPECTED[row_of(f)].lies for f in watch.faults)
    if said and not lies:
        return f"complete, but {said}", ""
    return "", said


def _unsafe(
    rehearsal: Rehearsal, outcome: Outcome, watch: Watch, after: After, hidden: bool
) -> tuple[str, str, float]:
    """Return what was unsafe, what nothing guarded against, and how hot it truly became."""
    truth, alone = rehearsal.board.truth(), limit_alone(watch.faults)
    peak_c = max(truth.peak_place_c, truth.peak_part_c or truth.peak_place_c)
    unsafe = _flows(rehearsal, outcome, watch, after, alone)
    hot = _too_hot(rehearsal, watch, peak_c, hidden or alone)
    guarded = rehearsal.board.limit_c is not None and not rehearsal.board.flaws.limit_bridged
    unguarded = hot if hot and (hidden or alone) and not guarded else ""
    return unsafe or (hot if not unguarded else ""), unguarded, peak_c


def _too_hot(rehearsal: Rehearsal, watch: Watch, peak_c: float, blind: bool) -> str:
    oven, board = rehearsal.station.oven, rehearsal.board
    before_c = watch.exposed[0].before_c if watch.exposed else 0.0
    allowed_c = min(oven.limit_c, max(rehearsal.runner.now.profile.peak_c, before_c) + OVER_PLAN_K) + FADES_K
    if blind and board.limit_c is not None and not board.flaws.limit_bridged:
        allowed_c = board.limit_c + PAST_LIMIT_K
    return f"truly {peak_c:.0f} °C, {allowed_c:.0f} °C allowed" if peak_c > allowed_c else ""


def _flows(rehearsal: Rehearsal, outcome: Outcome, watch: Watch, after: After, alone: bool) -> str:
    """Say where heat flowed that had to be off: after a trip, after the end, through an open door, untold."""
    oven = rehearsal.station.oven
    off_s = _off_within_s(rehearsal, watch.faults)
    has_contact = any(getattr(oven.signal, name) for name in ELEMENT)
    if after.heat_s > off_s:
        if not alone:
            return f"heat flows for {after.heat_s:.0f} s after the end"
        if outcome.heat_off and has_contact and STILL_ON.isdisjoint(after.told):
            return "called off while the contact shows heat"
        if outcome.heat_off and after.silent_k > SILENT_K:
            return f"{after.silent_k:.0f} K hotter after the end, and nobody is told"
    if watch.heat_after_trip_s > off_s and not alone:
        return f"heat for {watch.heat_after_trip_s:.0f} s after the trip"
    if oven.signal.door_open is not None and watch.door_heat_s > off_s and not alone:
        return f"heat for {watch.door_heat_s:.0f} s with the door open"
    if outcome.outcome == "complete" and not outcome.heat_off and not rehearsal.runner.now.off_read_back:
        return "complete without off read back"
    return ""


def _record(rehearsal: Rehearsal, watch: Watch) -> str:
    """Say what is wrong with the record: a lost sample, a trip that it does not name first."""
    recorder, trip = rehearsal.runner.heat.recorder, rehearsal.runner.now.trip
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


def _say(fault: Fault) -> str:
    value = "" if fault.value is None else f":{fault.value:g}"
    lasting = "" if fault.for_s == inf else f"~{fault.for_s:.0f}s"
    return f"{fault.name}@{fault.at_s:.0f}s{value}{lasting}"
