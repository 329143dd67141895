"""From a start handed over the socket to a running thread: permission, first look, station, record, latch."""

import contextlib
from collections.abc import Mapping
from functools import partial
from typing import TYPE_CHECKING

import kilnctl
from kilnctl.care.calibration import corrections_of
from kilnctl.care.oven_knowledge import Known, found_changed, known_of
from kilnctl.clock import Clock, RealClock
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.control.heat_controller import HeatController
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.interfaces import OvenIO
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.errors import Doubtful, KilnctlError, NoReply, RecordError, RunRefused
from kilnctl.heat.heat_state import Heat
from kilnctl.heat.job import Job
from kilnctl.heat.neighbours import neighbour_of
from kilnctl.heat.runner import Runner
from kilnctl.heat.station import station_for
from kilnctl.link.start import StartJob
from kilnctl.logbook.entries import CommissioningStep, add, in_force
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.recorder import Recorder
from kilnctl.logbook.records import RunHeader
from kilnctl.logbook.writer import Logbook
from kilnctl.marks import hot_ovens, known_wiring, running_ovens
from kilnctl.marks.latch import Latch
from kilnctl.marks.mark_writer import Ties, Writer
from kilnctl.marks.off_stamp import StampWatch, outlets
from kilnctl.marks.oven_identity import identity_of, written_together
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import OvenModel
from kilnctl.permits.admission import Asked, admit, insist
from kilnctl.permits.cautions import check_start, first_goal_c
from kilnctl.permits.challenge import Challenges
from kilnctl.permits.resume_job import broken_off, job_of, marks, outage_now
from kilnctl.processes.oven_thread import Hosted, Publish
from kilnctl.profile.write import profile_toml
from kilnctl.readings import Scan

if TYPE_CHECKING:
    from kilnctl.heat.telling.live_forecast import LiveForecast

LEAVES_S = 5.0  # a tick under way and two offs at a slow board


def start_job(
    start: StartJob,
    ovens: dict[str, Hosted],
    publish: Publish,
    buses: Buses,
    challenges: Challenges,
    ties: Ties,
) -> Hosted:
    """Judge a start, connect the oven, open its record and start its thread.

    Raises KilnctlError; nothing has been heated then.
    """
    asked = admit(start, challenges, RealClock())
    _free(asked.oven, ovens)
    insist(asked)
    clock = RealClock(start.time_scale)
    oven, job = asked.oven, asked.job
    writer = _writer(start, oven, ties)
    if not job.record_only and (why := writer.why_not_begin(job.resumes)):
        raise RunRefused(why)
    oven_io = open_oven_io(oven, clock, start.time_scale, buses)
    confirmed: tuple[str, ...] = ()
    try:
        _connect(oven, oven_io, job)
        if not job.record_only:
            goal_c = first_goal_c(job.profile) if job.resumes is None else None
            first, confirmed = _first_scan(oven, oven_io, clock, set(start.confirmed), goal_c)
            if job.resumes is not None:
                job = _taken_up(job, job.resumes, start.way, first, clock)
        hosted = _launch(oven, job, oven_io, clock, start, publish)
        _ask_marks_before_heat(hosted, writer, job)
        challenges.use(start.challenge)
    except KilnctlError:
        _refused(oven, oven_io)
        raise
    for say in (*asked.permission.notes, *confirmed, *start.acknowledged):
        hosted.heat.recorder.event("confirmed", say)
    hosted.runner.others = lambda: {
        n: neighbour_of(h.runner.now, h.runner.trend, h.runner.turns)
        for n, h in ovens.items()
        if h is not hosted
    }
    if job.unattended and not oven.simulated:
        from kilnctl.processes.unattended_trial import try_before_it_is_left  # no other heat needs it

        hosted.before = partial(try_before_it_is_left, oven, start.oven)
    hosted.start()
    return hosted


def insist_on_read_off(asked: Asked, ovens: Mapping[str, Hosted]) -> None:
    """Raise RunRefused where an earlier heat was not read back as off: before a person is asked anything.

    What is still watched here and reads off is no obstacle: its watch ends with the start.
    """
    before = ovens.get(asked.oven.name)
    if asked.job.record_only or (before is not None and (before.busy or before.wait_off(0.0))):
        return
    writer = _writer(asked.start, asked.oven, Ties(lambda: True, lambda _oven: ""))
    if why := writer.why_unread():
        raise RunRefused(why)


def _writer(start: StartJob, oven: Oven, ties: Ties) -> Writer:
    watch = StampWatch(start.off_stamp, home.home(), oven.name, outlets(start.oven))
    return Writer(oven.name, watch, ties, identity_of(oven))


def _ask_marks_before_heat(hosted: Hosted, writer: Writer, job: Job) -> None:
    """Let the marks be looked at before the first heat (a recording has none), and in every tick."""
    if not job.record_only:
        hosted.why_no_heat = partial(writer.why_no_heat, hosted.run_id)
    hosted.runner.off_left = writer.why_go_off


def _refused(oven: Oven, oven_io: OvenIO) -> None:
    """Leave the oven of a start that was refused: off, and its mark goes where that was read back."""
    if oven_io.off():
        running_ovens.clear_at(oven)
    oven_io.close()


def _connect(oven: Oven, oven_io: OvenIO, job: Job) -> None:
    """Open the port, off first. A recording may wait for a board that is silent. Raises DeviceError.

    What an earlier heat has left on is off where a recording begins with a board that answers, and whose
    element, where that is seen, is dead.
    """
    try:
        oven_io.connect()
        if job.record_only and running_ovens.of(oven.name) and oven_io.off():
            running_ovens.clear_at(oven)
    except NoReply:
        if not job.record_only:
            raise


def _taken_up(job: Job, run: int, way: str, first: Scan, clock: Clock) -> Job:
    """Return a job that begins where a heat broke off, judged anew: the screen's word is not enough here.

    Raises RunRefused where it may not go on, or not by one key.
    """
    with Reader(home.logbook_path()) as reader:
        heat = broken_off(reader, run)
    found, outage = outage_now(heat, first.process.value or 0.0, clock)
    return job_of(heat, found, outage, job, alone=way == "alone")


def _first_scan(
    oven: Oven, oven_io: OvenIO, clock: Clock, confirmed: set[str], goal_c: float | None
) -> tuple[Scan, tuple[str, ...]]:
    """Refuse readings that no cold, shut, sound oven gives; return them, and what a person confirmed of them.

    Raises RunRefused, and Doubtful for what nobody has confirmed yet.
    """
    oven_io.scan(clock.now_s())  # the first look is what a jump would be judged against
    first = oven_io.scan(clock.now_s())
    found = check_start(first, _hours_since(oven.name, clock), goal_c)
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
    for name, hosted in ovens.items():
        if name != oven.name and hosted.alive and written_together(oven, hosted.heat.station.oven):
            if hosted.busy:
                what = f'"{oven.name}" and "{name}" switch heat in one place'
                raise RunRefused(
                    f'{what}, and "{name}" is running run {hosted.run_id}; `kilnctl off` ends it'
                )
            _leave(name, hosted)
    before = ovens.get(oven.name)
    if before is None:
        return
    if before.busy:
        raise RunRefused(f'"{oven.name}" is already running run {before.run_id}; `kilnctl off` ends it')
    _leave(oven.name, before)


def _leave(name: str, hosted: Hosted) -> None:
    """End the watch over an oven. Raises RunRefused while it lasts: it would cut and clear the next heat."""
    hosted.join(LEAVES_S)
    if hosted.alive:
        raise RunRefused(
            f'"{name}" is still being left, its board or this disk is slow: start again in a moment'
        )


def _start_from(known: Known, runner: Runner) -> None:
    if known.words():
        runner.say_of_oven(known.words())


def _refine(known: Known, runner: Runner, book: Logbook) -> None:
    """Write down what a heat has found changed on its oven. The heat is over: a full disk spoils nothing."""
    heat = runner.heat
    controller, oven = heat.station.controller, heat.station.oven.name
    if isinstance(controller, HeatController):
        change = found_changed(oven, known, controller.evidence, heat.run_id)
        with contextlib.suppress(RecordError):
            if change is not None:
                add(book, change, heat.clock.utc().timestamp())


def _live_forecast(oven: Oven, job: Job, model: OvenModel | None) -> "LiveForecast | None":
    """Return the forecast of a heat that has not begun; nothing where only is recorded."""
    if job.record_only:
        return None
    from kilnctl.heat.telling.live_forecast import LiveForecast  # loads numpy, which only a heat needs

    return LiveForecast(oven, job, model or nameplate(oven))


def _launch(
    oven: Oven, job: Job, oven_io: OvenIO, clock: RealClock, start: StartJob, publish: Publish
) -> Hosted:
    """Build everything that may fail before the first thing that a failure would leave behind on the disk."""
    book = Logbook(home.logbook_path())
    corrections = corrections_of(Reader(book.connection), oven.name)
    known = known_of(Reader(book.connection), oven)
    control_model = None if known is None else known.control_model
    latch = Latch(
        oven.name, clock.utc, resumes=job.resumes, watches=job.record_only, identity=identity_of(oven)
    )
    station = station_for(
        oven,
        job.profile,
        oven_io,
        None if known is None else known.model,
        start=control_model,
        corrections={name: correction for name, (_, correction) in corrections.items()},
        latch_trip=latch.trip,
        release_latch=latch.release,
    )
    # Before the runner, whose clock starts when it is made: loading numpy would make its first tick late.
    live_forecast = _live_forecast(oven, job, control_model)
    numbers = tuple(number for number, _ in corrections.values())
    run_id = book.start_run(_header(oven, job, clock, start, numbers, known))
    running_ovens.mark(oven.name, start.oven, heats=not job.record_only)
    known_wiring.keep(oven, start.oven)
    latch.arm(run_id)
    if not job.record_only:
        hot_ovens.sign(hot_ovens.Hot(oven.name, clock.utc().isoformat(timespec="seconds"), run_id))
    recorder = Recorder(book, run_id, clock)
    found_hot = any(said.oven == oven.name for said in hot_ovens.signed())
    left_on = job.record_only and not running_ovens.is_watched(oven.name)
    heat = Heat(station, job, recorder, clock, run_id, clock.scale, found_hot, start.part, left_on)
    runner = Runner(heat)
    if job.resumes is not None:
        recorder.event("taken up", job.taken_up, run=job.resumes)
    hosted = Hosted(runner, clock, publish)
    hosted.saw_heat = partial(running_ovens.turn, oven.name, start.oven, heats=True)
    hosted.read_well = partial(running_ovens.turn, oven.name, start.oven, heats=False)
    runner.on_tick = hosted.publish
    runner.live_forecast = live_forecast
    if known is not None:
        _start_from(known, runner)
        hosted.afterwards = lambda: _refine(known, runner, book)
    return hosted


def _header(
    oven: Oven,
    job: Job,
    clock: RealClock,
    start: StartJob,
    corrections: tuple[int, ...],
    known: Known | None,
) -> RunHeader:
    return RunHeader(
        oven=oven.name,
        oven_file=start.oven,
        profile=profile_toml(job.profile),
        profile_name=job.profile.name,
        software=kilnctl.__version__,
        period_s=oven.tick_s,
        recipe=job.profile.recipe,
        revision=job.profile.revision,
        steel=job.profile.steel or "",
        simulated=oven.simulated,
        unattended=job.unattended,
        time_scale=clock.scale,
        commissioning=corrections,
        learned=None if known is None else known.number,
        operator=start.operator,
        part=start.part,
        started_utc=clock.utc().timestamp(),
        extra=marks(clock, job),
    )
