"""From a job handed over the socket to a running thread: preflight, logbook, station, runner, after-watch."""

import contextlib
import threading
from collections.abc import Callable
from typing import Any

import kilnctl
from kilnctl.clock import Clock, RealClock
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.control.controller import HeatController
from kilnctl.devices.buses import Buses
from kilnctl.devices.hands import open_hands
from kilnctl.devices.roles import Hands
from kilnctl.errors import ConfigError, Doubtful, KilnctlError, ProfileError, RecordError, RunRefused
from kilnctl.link.snapshot import Answer, Command, Snapshot
from kilnctl.logbook.book import Logbook
from kilnctl.logbook.calibration import corrections_of
from kilnctl.logbook.entries import CommissioningStep, add, in_force
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.recorder import Recorder
from kilnctl.logbook.records import RunHeader
from kilnctl.model.oven import OvenModel, nameplate
from kilnctl.profile.segments import Profile
from kilnctl.readings import Scan
from kilnctl.runtime import running
from kilnctl.runtime.arming import check_start
from kilnctl.runtime.job import Job, Outcome
from kilnctl.runtime.latch import Latch
from kilnctl.runtime.preflight import preflight
from kilnctl.runtime.refining import Known, found_changed, known_of
from kilnctl.runtime.runner import Runner
from kilnctl.runtime.station import station_for
from kilnctl.runtime.taking_up import broken_off, job_of, look_now, marks
from kilnctl.runtime.view import HOT_C, snapshot
from kilnctl.tomlfile import loads

Publish = Callable[[Snapshot], None]
# Real seconds without a finished tick after which an oven no longer counts as ticking.
TICK_GRACE_S = 1.5
# After the run the oven is watched (heat off is sent again each tick) until it is cold or gone.
WATCH_MISSES = 10
PREDICTED_POINTS = 240


class Hosted:
    """One oven in the controller: its thread, its runner, its last outcome."""

    def __init__(self, runner: Runner, clock: Clock, publish: Publish) -> None:
        self.runner, self.clock, self._publish = runner, clock, publish
        self.name = runner.station.oven.name
        self.run_id = runner.run_id
        self.outcome: Outcome | None = None
        self.error: BaseException | None = None
        self.afterwards: Callable[[], None] = lambda: None
        self._sequence = 0
        self._ended = threading.Event()
        self._leave = threading.Event()
        self._ticked_s = clock.real_s()
        self._thread = threading.Thread(target=self._main, name=f"oven-{self.name}")

    @property
    def busy(self) -> bool:
        """True while the run goes on."""
        return not self._ended.is_set()

    @property
    def alive(self) -> bool:
        """True while the oven is run or watched."""
        return self._thread.is_alive()

    def start(self) -> None:
        """Start the thread."""
        self._thread.start()

    def ticking(self, now_s: float) -> bool:
        """True when the last tick is recent, or nothing ticks any more."""
        allowed_s = self.runner.station.oven.tick_s / self.runner.time_scale + TICK_GRACE_S
        return not self.alive or now_s - self._ticked_s < allowed_s

    def off(self, why: str) -> None:
        """Ask for heat off. From any thread."""
        self._leave.set()
        self.runner.off(why)

    def wait_off(self, real_s: float) -> bool:
        """Wait until the run has ended; return True when off was read back."""
        self._ended.wait(real_s)
        return self.outcome is not None and self.outcome.heat_off

    def join(self, real_s: float) -> bool:
        """Leave the watch too, wait for the thread; return True when off was read back."""
        self._leave.set()
        self._thread.join(real_s)
        return not self.alive and self.outcome is not None and self.outcome.heat_off

    def command(self, command: Command) -> Answer:
        """Pass a command to the run."""
        if not self.busy and command.word == "acknowledge":
            self.runner.hear()
            return Answer(True)
        if not self.busy:
            beside = f"; `kilnctl part NAME --run {self.run_id} ...` writes beside its record"
            return Answer(False, "the heat is over" + (beside if command.word == "mark" else ""))
        return self.runner.command(command)

    def status(self) -> dict[str, Any]:
        """Return the outcome, if the run is over, as plain data."""
        if self.outcome is None:
            return {"run": self.run_id, "busy": True}
        o = self.outcome
        said = {"outcome": o.outcome, "cause": o.cause, "heat_off_confirmed": o.heat_off}
        isolator = self.runner.station.oven.isolator
        summary = {**said, **o.summary, "run": self.run_id, "isolator": isolator}
        return {"run": self.run_id, "busy": False, "exit_code": o.exit_code, "summary": summary}

    def publish(self, runner: Runner) -> None:
        """Publish a tick. Never raises."""
        self._ticked_s = self.clock.real_s()
        self._sequence += 1
        self._publish(snapshot(runner, self._sequence))

    def _main(self) -> None:
        hands = self.runner.station.hands
        try:
            self.outcome = self.runner.run()
            self.afterwards()
        except BaseException as error:
            # The run has cut the heat and recorded why; the outcome tells it to whoever asks.
            self.error = error
            self.outcome = Outcome("tripped", f"{type(error).__name__}: {error}", hands.off(), 4, {})
        finally:
            self._ended.set()
            self._watch(hands)
            if hands.off():
                running.clear(self.name)
            hands.close()

    def _watch(self, hands: Hands) -> None:
        """Keep sending off and showing the oven until it is cold: hot steel stays hot after the run."""
        misses, deadline_s = 0, self.clock.now_s()
        while not self._leave.is_set() and misses < WATCH_MISSES:
            scan = hands.scan(self.clock.now_s())
            hands.off()
            self.runner.scan = scan
            self.publish(self.runner)
            misses = 0 if scan.process.good else misses + 1
            if scan.process.value is not None and scan.process.value < HOT_C:
                return
            deadline_s += self.runner.station.oven.tick_s
            self.clock.wait_until(deadline_s, self._leave)


def start_job(args: dict[str, Any], ovens: dict[str, Hosted], publish: Publish, buses: Buses) -> Hosted:
    """Check a job, connect the oven, open its record and start its thread.

    `args` carries the texts of oven and profile files (`oven`, `profile`) and how to run them. Raises
    KilnctlError; nothing has been heated then.
    """
    oven = loads(str(args["oven"]), Oven, ConfigError, str(args.get("oven_name", "oven file")))
    profile = loads(str(args["profile"]), Profile, ProfileError, str(args.get("profile_name", "profile")))
    _free(oven, ovens)
    scale = float(args.get("time_scale", 1.0))
    job = Job(
        profile,
        unattended=bool(args.get("unattended", False)),
        record_only=bool(args.get("record_only", False)),
        warnings=tuple(args.get("warnings", ())),
        not_checked=tuple(args.get("not_checked", ())),
        planned_s=tuple(args.get("planned_s", ())),
        resume_within_s=args.get("resume_within_s"),
        resumes=args.get("resumes"),
        wait_s=float(args.get("wait_s", 0.0)),
    )
    preflight(oven, job, scale)
    clock = RealClock(scale)
    hands = open_hands(oven, clock, scale, buses)
    confirmed: tuple[str, ...] = ()
    try:
        hands.connect()
        if not job.record_only:
            first, confirmed = _look_first(oven, hands, clock, set(args.get("confirmed", ())))
            if job.resumes is not None:
                job = _taken_up(job, job.resumes, str(args.get("way")), first, clock)
        hosted = _launch(oven, job, hands, clock, scale, args, publish)
    except KilnctlError:
        hands.close()
        raise
    for say in confirmed:
        hosted.runner.recorder.event("confirmed", say)
    hosted.runner.others = lambda: {n: h.runner.trend.value for n, h in ovens.items() if h is not hosted}
    hosted.start()
    return hosted


def _taken_up(job: Job, run: int, way: str, first: Scan, clock: Clock) -> Job:
    """Return a job that begins where a heat broke off, judged anew: the screen's word is not enough here.

    Raises RunRefused where it may not go on, or not by one key.
    """
    with Reader(home.logbook_path()) as reader:
        heat = broken_off(reader, run)
    found, outage = look_now(heat, first.process.value or 0.0, clock)
    return job_of(heat, found, outage, job, alone=way == "alone")


def _look_first(oven: Oven, hands: Hands, clock: Clock, confirmed: set[str]) -> tuple[Scan, tuple[str, ...]]:
    """Refuse readings that no cold, shut, sound oven gives; return them, and what a person confirmed of them.

    Raises RunRefused, and Doubtful for what nobody has confirmed yet.
    """
    hands.scan(clock.now_s())  # the first look is what a jump would be judged against
    first = hands.scan(clock.now_s())
    found = check_start(first, _hours_since(oven.name, clock))
    if found.refuse:
        raise RunRefused(f'oven "{oven.name}": {"; ".join((*found.refuse, *found.ask.values()))}')
    open_still = {about: say for about, say in found.ask.items() if about not in confirmed}
    if open_still:
        raise Doubtful(f'oven "{oven.name}": {"; ".join(open_still.values())}', open_still)
    return first, tuple(found.ask.values())


def _hours_since(oven: str, clock: Clock) -> float | None:
    """Return the hours since the oven's last heat or set-up step, None where the logbook knows none."""
    if not home.logbook_path().is_file():
        return None
    with Reader(home.logbook_path()) as reader:
        heats = [run.started_utc for run in reader.runs(oven=oven, limit=1)]
        steps = [row.utc_s for row, _ in in_force(reader, CommissioningStep, oven)]
    return (clock.utc().timestamp() - max(heats + steps)) / 3600.0 if heats + steps else None


def _free(oven: Oven, ovens: dict[str, Hosted]) -> None:
    before = ovens.get(oven.name)
    if before is None:
        return
    if before.busy:
        raise RunRefused(f'"{oven.name}" is already running run {before.run_id}; `kilnctl off` ends it')
    before.join(3.0)


def _start_from(known: Known, runner: Runner) -> None:
    if known.words():
        runner.say_of_oven(f"{known.words()}; this heat starts from it")


def _refine(known: Known, runner: Runner, book: Logbook) -> None:
    """Write down what a heat has found changed on its oven. The heat is over: a full disk spoils nothing."""
    controller, oven = runner.station.controller, runner.station.oven.name
    if isinstance(controller, HeatController):
        change = found_changed(oven, known, controller.evidence, runner.run_id)
        with contextlib.suppress(RecordError):
            if change is not None:
                add(book, change, runner.clock.utc().timestamp())


def foreseen(oven: Oven, job: Job, model: OvenModel | None) -> tuple[tuple[float, float, float, float], ...]:
    """Return the predicted curve for the screen: (run time s, low, middle, high degC), thinned.

    Without a learned model it is the nameplate's guess, whose band nobody knows: low and high are the middle.
    """
    if job.record_only:
        return ()
    from kilnctl.control.prediction import predict  # loads numpy, which only a heat needs

    room_c = oven.ambient_c
    points = predict(job.profile, model or nameplate(oven), room_c, room_c, job.planned_s).points
    every = max(1, len(points) // PREDICTED_POINTS)
    return tuple((p.at_s + job.wait_s, p.low_c, p.process_c, p.high_c) for p in points[::every])


def _launch(
    oven: Oven, job: Job, hands: Hands, clock: RealClock, scale: float, args: dict[str, Any], publish: Publish
) -> Hosted:
    running.mark(oven.name, str(args["oven"]))
    book = Logbook(home.logbook_path())
    corrections = corrections_of(Reader(book.connection), oven.name)
    known = known_of(Reader(book.connection), oven.name)
    model = None if known is None else known.model
    header = RunHeader(
        oven=oven.name,
        oven_file=str(args["oven"]),
        profile=str(args["profile"]),
        profile_name=job.profile.name,
        software=kilnctl.__version__,
        period_s=oven.tick_s,
        recipe=job.profile.recipe,
        revision=job.profile.revision,
        steel=job.profile.steel or "",
        simulated=oven.simulated,
        unattended=job.unattended,
        time_scale=scale,
        commissioning=tuple(number for number, _ in corrections.values()),
        learned=None if known is None else known.number,
        operator=str(args.get("operator", "")),
        part=str(args.get("part", "")),
        started_utc=clock.utc().timestamp(),
        extra=marks(clock, job),
    )
    run_id = book.start_run(header)
    recorder = Recorder(book, run_id, clock)
    latch = Latch(oven.name, clock.utc, run_id, job.resumes)
    latch.arm()
    station = station_for(
        oven,
        job.profile,
        hands,
        model,
        start=None if known is None else known.control_model,
        corrections={name: correction for name, (_, correction) in corrections.items()},
        latch_trip=latch.trip,
        release_latch=latch.release,
    )
    # Before the runner, whose clock starts when it is made: loading numpy would make its first tick late.
    prediction = foreseen(oven, job, None if known is None else known.control_model)
    runner = Runner(station, job, recorder, clock, run_id=run_id, time_scale=scale)
    if job.resumes is not None:
        recorder.event("taken up", job.taken_up, run=job.resumes)
    hosted = Hosted(runner, clock, publish)
    runner.on_tick = hosted.publish
    runner.prediction = prediction
    if known is not None:
        _start_from(known, runner)
        hosted.afterwards = lambda: _refine(known, runner, book)
    return hosted
