"""One run on one oven: the tick.

read -> judge -> move the cursor -> control -> write and read back -> feed the dead-man -> record -> publish.
Whatever happens, the heat is cut on the way out and the cut is read back.
"""

import contextlib
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING

from kilnctl.clock import Clock
from kilnctl.control.heat_controller import ControlInput
from kilnctl.control.time_proportioning import advance_switch
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.heat import trip_record
from kilnctl.heat.annunciator import Caller
from kilnctl.heat.corrections import corrected
from kilnctl.heat.heat_state import OFF, Heat
from kilnctl.heat.job import Job, Outcome, verdict
from kilnctl.heat.operator_commands import Orders
from kilnctl.heat.samples import sample_of, summary_of
from kilnctl.heat.station import Station
from kilnctl.heat.unpowered import excused
from kilnctl.interlocks import nudging, with_subject
from kilnctl.link.snapshot import Answer, Command
from kilnctl.logbook.recorder import Recorder
from kilnctl.profile.cursor import advance, preview
from kilnctl.readings import Alarm, Observation, Priority, Reaction, Scan, Unlike
from kilnctl.stages import LIVE
from kilnctl.treatment.outcome import PartSample
from kilnctl.treatment.steel.dose import counts

if TYPE_CHECKING:
    from kilnctl.heat.live_forecast import Ahead

# After a trip the run goes on cutting the heat and recording for this many ticks, then it ends.
AFTER_TRIP_TICKS = 10
LOOK_TICKS = 10

# How far the duty is nudged to test a sensor that stands still.
DITHER = 0.05
DITHER_K = 5.0  # and an instrument's set-point, down only


class Runner(Heat):
    """Runs one job on one station. One thread calls `run`; `off` and `command` may come from any other."""

    def __init__(
        self,
        station: Station,
        job: Job,
        recorder: Recorder,
        clock: Clock,
        on_tick: Callable[["Runner"], None] | None = None,
        run_id: int | None = None,
        time_scale: float = 1.0,
    ) -> None:
        super().__init__(station, job, recorder, clock, run_id, time_scale)
        self.on_tick = on_tick
        self._off_asked = threading.Event()
        self._off_why = ""
        # The look at the off stamp, once a tick: what it says ends the heat. None in rehearsals.
        self.off_left: Callable[[], str | None] | None = None
        # Set once the heat is cut for good: from then on this run writes nothing but off.
        self.is_cut = threading.Event()
        self._orders, self._caller = Orders(), Caller(station)
        self._found_changed = ""
        self._ticks_since_trip = 0
        self._broken = False
        self._fed = False
        self._window_s: float | None = None
        self._setpoint_c: float | None = None
        self._unlike: Unlike | None = None
        self._dither, self._nudging = 0, nudging(station.interlocks)
        self.others: Callable[[], dict[str, tuple[float, float]]] = dict
        self._ticks = 0
        self.ahead: Ahead | None = None
        self.start_clocks()
        # How long the supervisor has not listened, in real seconds: the controller tells.
        self.supervisor_age_s = 0.0
        self._run_max_c = max(job.profile.peak_c, station.oven.ambient_c)

    def start_clocks(self) -> None:
        """Let the run's time begin now."""
        clock = self.clock
        self.started_s = self._at_s = clock.now_s()
        self._real_s = clock.real_s()
        self._boot_gap_s = clock.boot_s() - self._real_s
        # Wall time of this tick (s since 1970): a label, and how far the wall clock runs ahead of the boot's.
        self.utc_s = clock.utc().timestamp()
        self._wall_gap_s = self.utc_s - clock.boot_s()

    # --- the way out comes first ---

    def off(self, why: str = "stopped by a person") -> None:
        """Ask for heat off and the end of the run. From any thread, in any state, at once."""
        if not self._off_asked.is_set():
            self._off_why = why
            self._off_asked.set()

    @property
    def off_asked(self) -> bool:
        """True once somebody has asked for off."""
        return self._off_asked.is_set()

    def _cut(self) -> bool:
        self.request, self.duty = OFF, 0.0
        self.off_read_back = self.station.hands.off()
        if self.state not in LIVE:
            self.is_cut.set()
        return self.off_read_back

    def look_for_off(self) -> None:
        """Look whether an off was left on disk since this run was asked for, and obey it."""
        if self.off_left is not None and (said := self.off_left()) is not None:
            self.off(said)

    # --- the run ---

    def run(self) -> Outcome:
        """Run the job to its end and return how it ended. Any exception cuts the heat and comes out."""
        tick_s = self.station.oven.tick_s
        try:
            if not self.waiting:
                self.tally.enter(self.cursor.segment, 0.0)
            self.recorder.event("start", self.profile.name)
            for sentence in self.job.not_checked:
                self.recorder.event("not checked", sentence)
            deadline_s = self.started_s
            while not self._ended():
                self.clock.wait_until(deadline_s, self._off_asked)
                self.tick(deadline_s)
                # Absolute deadlines; after a long stall the missed ticks are not made up for.
                deadline_s = max(deadline_s + tick_s, self.clock.now_s())
        except BaseException as error:
            self._broken = True  # before anything that may break too: the latch is not let go any more
            self._cut()
            trip_record.broke(self, error)
            raise
        finally:
            outcome = self._finish(self._cut())
        return outcome

    def _ended(self) -> bool:
        if self.state == "tripped":
            return self._ticks_since_trip >= AFTER_TRIP_TICKS
        return self.state not in LIVE

    def tick(self, deadline_s: float) -> None:
        """Do one whole tick, due at deadline_s."""
        now_s, real_s = self.clock.now_s(), self.clock.real_s()
        dt_s, self._at_s = now_s - self._at_s, now_s
        real_dt_s, self._real_s = real_s - self._real_s, real_s
        self.elapsed_s = now_s - self.started_s
        self.look_for_off()
        if self._off_asked.is_set() and self.state in LIVE:
            self.state, self.cause = "stopped", self._off_why
            self.last_command = self._off_why
            self._cut()
            self.recorder.event("off", self.cause)
        self._orders.carry_out(self)
        scan = self.station.hands.scan(now_s)
        if self.station.corrections:
            scan = corrected(scan, self.station.corrections)
        self.scan = scan
        self._judge(self._observe(scan, dt_s, real_dt_s, max(0.0, now_s - deadline_s)))
        if self.waiting and self.state in LIVE:
            self._wait(scan)
        if self.state in LIVE and scan.process.good:
            self._move(scan, dt_s)
            if self.others is not dict:
                heated = self.station.heats(self.request)
                self.trend.see(self._at_s, scan.process.value or 0.0, heated, dt_s)
        self._act(scan, dt_s)
        self._ticks += 1
        self._caller.tick(self, self._ticks)
        self.tally.energy_kwh += self.station.heat_w(scan, self.request) * dt_s / 3.6e6
        self._look(scan)
        self.recorder.sample(sample_of(self, scan))
        if self.on_tick is not None:
            self.on_tick(self)

    def _wait(self, scan: Scan) -> None:
        """Begin the heat when its time has come. Whoever opens the door meanwhile has other plans."""
        if scan.door_open:
            self.state, self.cause = "stopped", "the door was opened while the heat waited to start"
            self.recorder.event("off", self.cause)
        elif self.elapsed_s >= self.job.wait_s:
            self.waiting, self.state = False, "running"
            self.tally.enter(self.cursor.segment, self.elapsed_s)
            self.recorder.event("begun", "the wait is over")

    # --- judge ---

    def _observe(self, scan: Scan, dt_s: float, real_dt_s: float, late_s: float) -> Observation:
        request, station = self.request, self.station
        boot_s = self.clock.boot_s()
        return Observation(
            scan=scan,
            at_s=self._at_s,
            dt_s=dt_s,
            real_dt_s=real_dt_s,
            late_s=late_s,
            heating_allowed=self.state == "running",
            heat_asked=station.heats(request),
            duty_asked=station.share(request),
            setpoint_c=self.cursor.setpoint_c,
            segment_kind=self.here.kind,
            run_max_c=None if self.job.record_only else self._run_max_c,
            limit_c=station.oven.limit_c,
            ambient_c=station.oven.ambient_c,
            unexplained=self.unexplained,
            suspended_s=boot_s - self._real_s - self._boot_gap_s,
            wall_step_s=self._wall_step_s(boot_s),
            supervisor_age_s=self.supervisor_age_s,
            unattended=self.job.unattended,
            dither=self._dither,
            others=self.others(),
            unlike=self._unlike,
            drawn=station.drawn(scan),
        )

    def _wall_step_s(self, boot_s: float) -> float:
        """Return by how much the wall clock was set since the last tick; a sleep moves both clocks."""
        self.utc_s = self.clock.utc().timestamp()
        before_s, self._wall_gap_s = self._wall_gap_s, self.utc_s - boot_s
        return self._wall_gap_s - before_s

    def _judge(self, observation: Observation) -> None:
        found: list[Alarm] = []
        if self.state == "tripped":
            trip_record.look_after(self, observation.scan)
        for check in self.station.checks:
            verdict = check(observation)
            if verdict is None:
                continue
            if isinstance(verdict, Alarm):
                found.append(with_subject(verdict))
            elif verdict.reaction is Reaction.NOTIFY:
                found.append(with_subject(Alarm(verdict.kind, verdict.reason, verdict.at_s)))
            elif self.trip is None and not excused(self, verdict):
                self._cut()
                trip_record.trip(self, with_subject(verdict))
        if self._found_changed:
            found.append(Alarm("oven_changed", self._found_changed, self._at_s, Priority.LATER))
        if found or self.alarms.active:
            self._note_alarms(tuple(found))
        if self.state == "tripped":
            self._ticks_since_trip += 1

    def _note_alarms(self, found: tuple[Alarm, ...]) -> None:
        before = self.alarms
        self.alarms = before.see(found, self.elapsed_s)
        for alarm in self.alarms.fresh(before):
            self.recorder.event("alarm", alarm.reason, alarm_kind=alarm.kind)
        for shown in self.alarms.back_from_shelf(before):
            self.recorder.event("alarm back", shown.reason, alarm_kind=shown.kind)

    # --- move ---

    def _move(self, scan: Scan, dt_s: float) -> None:
        process_c = scan.process.value or 0.0
        self.part = self.station.part_advance(self.part, process_c, dt_s, self.part_inside)
        part_c = self.part_c
        before = self.cursor
        if self.part_inside and counts(self.profile, before.segment):
            self.dose = self.station.dose_advance(self.dose, process_c if part_c is None else part_c, dt_s)
        if self.state == "running" and not self.job.record_only:
            reply, self.reply = self.reply, None
            self.cursor = advance(self.profile, before, process_c, part_c, dt_s, reply)
        self.tally.see(self.elapsed_s, process_c, self.here.soaked_s(before))
        if self.cursor.segment != before.segment or self.cursor.ending:
            if self.cursor.ending in ("", "complete"):
                self.tally.soak_done(self.profile.segments[before.segment])
            self.segment_over(before)

    # --- act ---

    def _act(self, scan: Scan, dt_s: float) -> None:
        hands, door_open = self.station.hands, scan.door_open is True
        if self.state in LIVE:
            self.state = "held" if door_open or self.waiting else "running"
        healthy = self.state == "running" and scan.process.good and not self.job.record_only
        wanted = healthy and self.cursor.setpoint_c is not None
        if scan.process.good:
            self._control(scan, dt_s, wanted)
        duty = self.duty = self._nudged(self.duty) if wanted and self.state == "running" else 0.0
        self.switch, on = advance_switch(
            self.station.oven.switching, self.switch, duty, dt_s, self._window_s if wanted else None
        )
        if self.state == "tripped":
            self._cut()
            return
        # No heat unless the last whole tick fed the dead-man; a shortest on-time never keeps off waiting.
        if wanted and self._fed:
            self.request = HeatRequest(on, duty, self._told_c())
        else:
            self.request = OFF
        driven = hands.drive(self.request)
        self._fed = driven and healthy and hands.feed()

    def _nudged(self, duty: float) -> float:
        """Return the duty with the nudge by which a sensor that stands still is tested."""
        self._dither = 0 if self._nudging is None else self._nudging.dither
        return min(1.0, max(0.0, duty + self._dither * DITHER)) if self._dither else duty

    def _told_c(self) -> float | None:
        """Return the set-point for an instrument; lowered while a sensor that stands still is tested."""
        told_c = self._setpoint_c
        return told_c if told_c is None or not self._dither else told_c - DITHER_K

    def _control(self, scan: Scan, dt_s: float, wanted: bool) -> None:
        cursor, profile, now = self.cursor, self.profile, self.here
        output = self.station.controller.step(
            ControlInput(
                at_s=self._at_s,
                dt_s=dt_s,
                process_c=scan.process.value or 0.0,
                setpoint_c=cursor.setpoint_c if wanted else None,
                goal_c=now.goal_c,
                segment_kind=now.kind,
                heat_wanted=wanted,
                preview=lambda ahead_s: preview(profile, cursor, ahead_s),
                door_open=scan.door_open is True,
                setpoint_rate_c_per_h=now.rate_c_per_h,
                heat_was_on=self.request.on if self.station.switched else None,
                heater_w=self.station.rated_w(scan),
            )
        )
        self.duty, self.mode, self._window_s = output.duty, output.mode, output.window_s
        self._setpoint_c = output.setpoint_c
        if output.note:
            self._found_changed = output.note
            self.say_of_oven(output.note)
        if output.ending and self.state in LIVE:
            self._enough(output.ending)
        self.unexplained = output.unexplained

    def _enough(self, ending: str) -> None:
        """The controller itself wants no more heat: a learning heat-up is done, or has given up."""
        self.duty = 0.0
        if ending == "complete":
            self.state = "complete"
        else:
            self.state, self.cause = "stopped", ending
        self.recorder.event("controller", ending)

    def _look(self, scan: Scan) -> None:
        """Keep what the record says of part and oven: a look every ten seconds is fine enough."""
        if self._ticks % LOOK_TICKS == 0:
            self._unlike = self.station.unlike
        if self._ticks % LOOK_TICKS == 0 and (scan.process.good or self.part is not None):
            part_c = self.part_c if self.part_c is not None else scan.process.value
            if part_c is not None:
                self.looks.append(PartSample(self.elapsed_s, self.cursor.segment, part_c))

    # --- the end ---

    def _finish(self, heat_off: bool) -> Outcome:
        self.tally.close(self.elapsed_s)
        outcome, code = verdict(self.state, self.cursor)
        if not heat_off:
            self.recorder.event("not confirmed off", "the output did not read back as off")
        summary = summary_of(self, outcome, heat_off)
        with contextlib.suppress(OSError):
            self.recorder.finish(outcome, summary)
        if heat_off and self.trip is None and not self._broken:
            self.station.release_latch()
        if code == 0 and not self.recorder.complete:
            code = 6
        return Outcome(outcome, self.cause, heat_off, code, summary)

    # --- commands ---

    def command(self, command: Command) -> Answer:
        """Take a person's command from any thread: `off` acts at once, the others in the next tick."""
        if command.word == "off":
            self.off(f"off by {command.who or 'a person'}")
            return Answer(True, "heat off is on its way")
        return self._orders.put(self, command)
