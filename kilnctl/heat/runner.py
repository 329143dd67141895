"""One run on one oven: the tick.

read -> judge -> move the cursor -> control -> write and read back -> feed the dead-man -> record -> publish.
Whatever happens, the heat is cut on the way out and the cut is read back.
"""

import contextlib
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING

from kilnctl.control.time_proportioning import advance_switch, times_of
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.heat import progress, trip_record
from kilnctl.heat.control_step import (
    NO_OUTPUT,
    control_input,
    heeded,
    held_or_running,
    is_cut,
    lowered_c,
    nudged,
)
from kilnctl.heat.corrections import corrected
from kilnctl.heat.heat_state import OFF, Heat, HeatState, acknowledged, at_the_start, noted
from kilnctl.heat.held_back import HeldBack
from kilnctl.heat.job import Outcome, verdict
from kilnctl.heat.neighbours import ALONE, in_turn, neighbour_of
from kilnctl.heat.operator_commands import Orders
from kilnctl.heat.telling.annunciator import Caller
from kilnctl.heat.telling.samples import sample_of, summary_of
from kilnctl.heat.tick_clocks import TickClocks, TickTime
from kilnctl.heat.trend import Trend
from kilnctl.heat.unpowered import excused, told_instead
from kilnctl.interlocks import nudging, with_subject
from kilnctl.interlocks.contract import live
from kilnctl.interlocks.crossed_ovens import FirstAnswer
from kilnctl.link.snapshot import Answer, Command
from kilnctl.readings import Alarm, Neighbour, Observation, Priority, Reaction, Scan, Unlike
from kilnctl.stages import LIVE
from kilnctl.treatment.outcome import PartSample

if TYPE_CHECKING:
    from kilnctl.heat.telling.live_forecast import LiveForecast

# After a trip the run goes on cutting the heat and recording for this many ticks, then it ends.
AFTER_TRIP_TICKS = 10
LOOK_TICKS = 10


class Runner:
    """Runs one heat; `now` is the heat as it stands. One thread calls `run`; `off` and `command` any other.

    Told from outside, from any thread: `supervisor_age_s`, for how many real seconds the supervisor has not
    listened; `others`, how the other ovens move; `off_left`, what the off stamp says, None in rehearsals.
    """

    def __init__(self, heat: Heat, on_tick: Callable[["Runner"], None] | None = None) -> None:
        self.heat, self.now = heat, at_the_start(heat)
        self.on_tick = on_tick
        self.off_left: Callable[[], str | None] | None = None
        self.others: Callable[[], dict[str, Neighbour]] = dict
        self.supervisor_age_s = 0.0
        self.live_forecast: LiveForecast | None = None
        self.trend = Trend()
        self.turns = FirstAnswer(heat.station.oven.name)
        self.clocks = TickClocks(heat.clock)
        # Set once the heat is cut for good: from then on this run writes nothing but off.
        self.is_cut = threading.Event()
        self.writes_end = False  # off was read back, and only the record is still being written
        self._off_asked, self._off_why = threading.Event(), ""
        self._heard = threading.Event()
        self._orders = Orders()
        self._caller = Caller(heat.station) if heat.station.can_call else None
        self._nudging = nudging(heat.station.interlocks)
        self._unlike: Unlike | None = None
        self._part_samples: list[PartSample] = []
        self._ticks = self._ticks_since_trip = 0
        self._broken, self._held_back = False, HeldBack()
        # Read once: a field of a checked file takes ten times as long to read as one of these.
        oven = heat.station.oven
        self._limit_c, self._ambient_c, self._times = oven.limit_c, oven.ambient_c, times_of(oven.switching)
        self._follows = oven.output.heater.kind == "set-point"
        self._run_max_c = max(heat.job.profile.peak_c, oven.ambient_c)

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
        off = self.heat.station.oven_io.off()
        self.now = self.now._replace(request=OFF, duty=0.0, off_read_back=off)
        if self.now.state not in LIVE:
            self.is_cut.set()
        return off

    def look_for_off(self) -> None:
        """Look whether an off was left on disk since this run was asked for, and obey it."""
        if self.off_left is not None and (said := self.off_left()) is not None:
            self.off(said)

    def say_of_oven(self, note: str) -> None:
        """Say what was found of the oven, before the first tick or in the run's own thread."""
        self.now = noted(self.heat, self.now, note)

    def broke(self, error: BaseException) -> None:
        """Trip for what broke: whoever calls has cut the heat."""
        self._find(trip_record.with_program_fault(self.heat, self.now, error))

    def _find(self, now: HeatState) -> None:
        """Take a heat in which more was found; only then is it latched and written, for that may fail."""
        before, self.now = self.now, now
        trip_record.write_down(self.heat, before, now)

    # --- the run ---

    def run(self) -> Outcome:
        """Run the job to its end and return how it ended. Any exception cuts the heat and comes out."""
        heat, tick_s = self.heat, self.heat.station.oven.tick_s
        try:
            heat.recorder.event("start", heat.job.profile.name)
            for sentence in heat.job.not_checked:
                heat.recorder.event("not checked", sentence)
            deadline_s = self.clocks.started_s
            while not self._ended():
                heat.clock.wait_until(deadline_s, self._off_asked)
                self.tick(deadline_s)
                # Absolute deadlines; after a long stall the missed ticks are not made up for.
                deadline_s, now_s = deadline_s + tick_s, heat.clock.now_s()
                deadline_s = now_s if now_s > deadline_s else deadline_s
        except BaseException as error:
            self._broken = True  # before anything that may break too: the latch is not let go any more
            self._cut()
            self.broke(error)
            raise
        finally:
            outcome = self._finish(self._cut())
        return outcome

    def _ended(self) -> bool:
        state = self.now.state
        return state not in LIVE and (state != "tripped" or self._ticks_since_trip >= AFTER_TRIP_TICKS)

    def tick(self, deadline_s: float) -> None:
        """Do one whole tick, due at deadline_s."""
        heat, station, time = self.heat, self.heat.station, self.clocks.tick()
        self.look_for_off()
        if self._off_asked.is_set() and self.now.state in LIVE:
            self._stop()
        if self._orders.waiting:
            self.now = self._orders.carry_out(heat, self.now._replace(elapsed_s=time.elapsed_s))
        scan = station.oven_io.scan(time.at_s)
        if station.corrections:
            scan = corrected(scan, station.corrections)
        late_s = time.at_s - deadline_s
        if heat.job.record_only and (scan.heat_on or live(scan)):
            self.now = self.now._replace(seen_on=True)
        self._judge(self._observe(scan, time, late_s if late_s > 0.0 else 0.0))
        if self.now.waiting and self.now.state in LIVE:
            self.now = progress.after_wait(heat, self.now, scan)
        good = scan.process.good
        if good and self.now.state in LIVE:
            self.now = progress.advanced(heat, self.now, scan.process.value or 0.0, time.dt_s)
            if self.others is not dict:
                heated = station.heats(self.now.request)
                self.trend.see(time.at_s, scan.process.value or 0.0, heated, time.dt_s)
        self._act(scan, time, good)
        self._ticks += 1
        if self._caller is not None:
            self.now = self._caller.tick(self.now, self._ticks)
        if self._ticks % LOOK_TICKS == 0:
            self._keep_sample(scan)
        heat.recorder.sample(sample_of(self.now, scan))
        if self.on_tick is not None:
            self.on_tick(self)

    def _stop(self) -> None:
        why = self._off_why
        self.now = self.now._replace(state="stopped", cause=why, last_command=why)
        self._cut()
        self.heat.recorder.event("off", why)

    # --- judge ---

    def _observe(self, scan: Scan, time: TickTime, late_s: float) -> Observation:
        station, job = self.heat.station, self.heat.job
        utc_s, wall_step_s, suspended_s = self.clocks.wall()
        now = self.now = self.now.with_scan(time.elapsed_s, utc_s, scan)
        request = now.request
        # In the order of the fields: so many names would cost 3 microseconds in every tick.
        return Observation(
            scan,
            time.at_s,
            time.dt_s,
            time.real_dt_s,
            late_s,
            now.state == "running",
            station.heats(request),
            station.share(request),
            now.cursor.setpoint_c,
            now.current.kind,
            None if job.record_only else self._run_max_c,
            self._limit_c,
            self._ambient_c,
            self.others(),
            now.unexplained,
            suspended_s,
            wall_step_s,
            self.supervisor_age_s,
            job.unattended,
            now.dither,
            self._unlike,
            station.drawn(scan),
            ALONE if self.others is dict else neighbour_of(now, self.trend, self.turns),
        )

    def _judge(self, observation: Observation) -> None:
        heat, found = self.heat, []  # type: Heat, list[Alarm]
        if self.now.state == "tripped":
            self._watch(observation.scan)
        for check in heat.station.checks:
            verdict = check(observation)
            if verdict is None:
                continue
            if isinstance(verdict, Alarm):
                found.append(with_subject(verdict))
            elif verdict.reaction is Reaction.NOTIFY:
                found.append(with_subject(Alarm(verdict.kind, verdict.reason, verdict.at_s)))
            elif self.now.trip is None and excused(heat, self.now, verdict):
                found += told_instead(heat, self.now, verdict)
            elif self.now.trip is None:
                self._cut()
                self._find(trip_record.tripped(heat, self.now, with_subject(verdict)))
        now = self.now
        if now.oven_changed:
            found.append(Alarm("oven_changed", now.oven_changed, observation.at_s, Priority.LATER))
        found += self._held_back.alarms(observation.at_s, heat.station.oven_io)
        found += self._caller.alarms(observation.at_s) if self._caller is not None else ()
        if found or now.alarms.standing:
            self._note_alarms(tuple(found))
        if now.state == "tripped":
            self._ticks_since_trip += 1

    def _note_alarms(self, raised: tuple[Alarm, ...]) -> None:
        before = self.now.alarms
        alarms = before.see(raised, self.now.elapsed_s)
        self.now = self.now.alarmed(alarms)
        trip_record.alarms_changed(self.heat, alarms, before)

    def _watch(self, scan: Scan) -> None:
        if scan.process.value is not None:
            self.trend.see(scan.at_s, scan.process.value, False, self.heat.station.oven.tick_s)
        self._find(trip_record.watched(self.heat, self.now, scan))

    # --- act ---

    def _act(self, scan: Scan, time: TickTime, good: bool) -> None:
        heat, now = self.heat, self.now
        station, duty, dither, before = heat.station, 0.0, now.dither, now.state
        if now.state in LIVE:
            now = held_or_running(now, scan.door_open is True)
        healthy = good and now.state == "running" and not heat.job.record_only
        wanted = healthy and now.cursor.setpoint_c is not None
        if self.others is not dict:
            now, wanted = in_turn(heat, now, self.turns, self.others(), wanted, time.dt_s)
        output = station.controller.step(control_input(heat, now, scan, time, wanted)) if good else NO_OUTPUT
        if good:
            now = heeded(heat, now, output)
        if wanted and now.state == "running":
            dither = 0 if self._nudging is None else self._nudging.dither
            duty = nudged(output.duty, dither) if dither else output.duty
        pulses = output.window_s, output.soft_s
        switch, on = advance_switch(self._times, now.switch, duty, time.dt_s, *pulses)
        if is_cut(before, now, scan, self._follows):
            now = now._replace(off_read_back=self._cut())
            request, fed = OFF, now.fed and not scan.door_open
        else:
            # No heat unless the last whole tick fed the dead-man; a shortest on-time never keeps off waiting.
            told_c = lowered_c(output.setpoint_c) if dither else output.setpoint_c
            request = HeatRequest(on, duty, told_c) if wanted and now.fed else OFF
            fed = station.oven_io.drive(request) and healthy and station.oven_io.feed()
            self._held_back.see(wanted, fed, time.dt_s, getattr(station.oven_io, "refused", ""))
        totals, heat_w = now.totals, station.heat_w(scan, request)
        if heat_w:
            totals = totals.more_energy(heat_w * time.dt_s / 3.6e6)
        unexplained = output.unexplained if good else now.unexplained
        self.now = now.driven(totals, switch, request, duty, fed, dither, unexplained)

    def _keep_sample(self, scan: Scan) -> None:
        """Keep what the record says of part and oven: a look every ten seconds is fine enough."""
        now, self._unlike = self.now, self.heat.station.unlike
        if scan.process.good or now.part is not None:
            part_c = now.part_c
            part_c = scan.process.value if part_c is None else part_c
            if part_c is not None:
                self._part_samples.append(PartSample(now.elapsed_s, now.cursor.segment, part_c))

    # --- the end ---

    def _finish(self, heat_off: bool) -> Outcome:
        heat, now = self.heat, self.now._replace(totals=self.now.totals.close(self.now.elapsed_s))
        self.now, self.writes_end = now, heat_off
        outcome, code = verdict(now.state, now.cursor)
        if not heat_off:
            heat.recorder.event("not confirmed off", "the output did not read back as off")
        summary = summary_of(heat, now, self._part_samples, outcome, heat_off)
        with contextlib.suppress(OSError):
            heat.recorder.finish(outcome, summary)
        self.writes_end = False
        if heat_off and now.trip is None and not self._broken:
            heat.station.release_latch()
        if code == 0 and not heat.recorder.complete:
            code = 6
        return Outcome(outcome, now.cause, heat_off, code, summary)

    def begin_watch(self) -> None:
        """Begin the watch over the oven after the end, where no trip has begun it."""
        self.now = self.now._replace(after=trip_record.watch_of(self.heat, self.now))

    def watch_cut(self, scan: Scan, off: bool) -> None:
        """Take one more look at the oven after the end; `off` says whether off has just been read back."""
        elapsed_s = scan.at_s - self.clocks.started_s  # the curve on the screens goes on
        self.now = self.now._replace(scan=scan, off_read_back=off, elapsed_s=elapsed_s)
        if self._heard.is_set():
            self._heard.clear()
            self.now = acknowledged(self.now)
        self._watch(scan)

    # --- commands ---

    def hear(self) -> None:
        """Silence the horn after the end, with the next look at the oven. From any thread."""
        self._heard.set()

    def command(self, command: Command) -> Answer:
        """Take a person's command from any thread: `off` acts at once, the others in the next tick."""
        if command.word == "off":
            self.off(f"off by {command.who or 'a person'}")
            return Answer(True, "switching the heat off")
        return self._orders.put(self.now, command)
