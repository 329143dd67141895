"""A job handed to the controller and followed to its end: what run, tune and a run taken up share."""

import contextlib
import json
import signal
import sys
from collections.abc import Iterator
from typing import Any

from kilnctl.care.corrections_in_force import judged_here
from kilnctl.cli.heat import off
from kilnctl.cli.heat.acknowledgement import Say, consented
from kilnctl.cli.heat.hand_over import begin
from kilnctl.cli.terminal.place import who
from kilnctl.cli.terminal.whole_words import whole_words
from kilnctl.cli.watch.controller_lost import end_of
from kilnctl.cli.watch.read_back_since import ReadBackSince
from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError, LinkError, NoController, RunRefused
from kilnctl.heat.job import Job
from kilnctl.link.client import LinkClient
from kilnctl.link.snapshot import AlarmView, Command, Snapshot
from kilnctl.link.start import StartJob
from kilnctl.link.trip_head import action, trip_head
from kilnctl.marks import off_stamp
from kilnctl.permits.resume_rules import may_go_on
from kilnctl.processes.heat_off import heat_off
from kilnctl.processes.spawn import ensure_controller
from kilnctl.stages import LIVE, in_words
from kilnctl.tomlfile import loads
from kilnctl.units import parse_duration_s, say_duration, say_point

CONNECT_S = 20.0
END_S = 30.0
LEFT_S = 2.0  # an off that was asked on the screen is through by then


def saying(as_json: bool) -> Say:
    """Return where words for a person go: beside the JSON, never into it."""
    stream = sys.stderr if as_json else sys.stdout
    return lambda text: print(whole_words(text, stream), file=stream)


def within_s(words: str | None, todo: Job) -> float | None:
    """Return the owner's time for the key after a power cut in seconds. Raises RunRefused, UnitError."""
    if words is None:
        return None
    if not may_go_on(todo.profile):
        raise RunRefused(
            "no step of this job can be resumed by a key after a power cut: leave out --resume-within"
        )
    return parse_duration_s(words)


def hand_over(start: StartJob, oven: Oven, say: Say, as_json: bool) -> int:
    """Give a start to the controller and follow it to its end; return its exit code. Raises RunRefused."""
    ensure_controller()
    with LinkClient(home.socket_path()) as client:
        start = consented(client, oven, start, CONNECT_S, say)
        with ctrl_c_is_off(oven.name, start.oven, say):
            return _begun(client, start, oven, say, as_json)


@contextlib.contextmanager
def ctrl_c_is_off(oven: str, oven_file: str, say: Say) -> Iterator[None]:
    """Send off at Ctrl-C, also before a start was answered: the controller may have it, and heat soon."""
    # Started in the background of a script, the interrupt may have been switched off for us: it means off.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        yield
    except KeyboardInterrupt:
        # First, by what the file's text says: it may lie in no folder where an off by name looks for it.
        off_stamp.leave(home.home(), oven, off_stamp.outlets(oven_file), who())
        try:
            say(off.line(heat_off(oven, who())))
        except ConfigError:
            say(f"off was left for {oven}, which ends its start; `kilnctl status` shows it")
        raise


def _begun(client: LinkClient, start: StartJob, oven: Oven, say: Say, as_json: bool) -> int:
    began = RealClock().utc()
    answer = begin(client, oven.name, start, CONNECT_S)
    if start.unattended and not oven.simulated:
        say("first, about 15 s: test messages, then the dead-man (heat on, then silence)")
    run_id, since = int(answer.data["run"]), ReadBackSince()
    try:
        return follow(client, oven.name, run_id, say, as_json, since)
    except LinkError as e:
        code, summary = end_of(run_id, oven, began, e, since, watches=start.record_only)
        tell(summary, say, as_json)
        return code


def refuse_second(oven: str) -> None:
    """Raise RunRefused when the oven already runs; its latch is armed then, which is not a trip."""
    try:
        with LinkClient(home.socket_path()) as client:
            status = client.ask(Command("status", oven, who=who())).data["ovens"].get(oven, {})
    except NoController:
        return
    if status.get("busy"):
        raise RunRefused(f'"{oven}" is already running run {status["run"]}; `kilnctl off` ends it')


def start_for(text: str, name: str, todo: Job, time_scale: float, stamps: off_stamp.Token) -> StartJob:
    """Return a job as it crosses the socket. `text` is the oven file, `name` what an error calls it.

    `stamps` is what was seen of the off stamps as the first act of the command. Raises RunRefused where a
    correction in force is not good enough for so hot a heat; a recording may use it.
    """
    if not todo.record_only:
        why = judged_here(loads(text, Oven, ConfigError, name), todo.profile).refusals
        if why:
            raise RunRefused("; ".join(why))
    return StartJob(
        oven=text,
        profile=todo.profile,
        off_stamp=stamps,
        oven_name=name,
        unattended=todo.unattended,
        record_only=todo.record_only,
        time_scale=time_scale,
        warnings=todo.warnings,
        not_checked=todo.not_checked,
        planned_s=todo.planned_s,
        resume_within_s=todo.resume_within_s,
        resumes=todo.resumes,
        wait_s=todo.wait_s,
    )


def follow(client: LinkClient, oven: str, run_id: int, say: Say, as_json: bool, since: ReadBackSince) -> int:
    """Show the live line until the run is over; Ctrl-C asks for off. Returns the exit code."""
    if sys.stdin.isatty() and sys.stdout.isatty() and not as_json:
        from kilnctl.cli.watch.watch import attach

        attach(oven, ctrl_c_off=True)
        if _outcome(client, oven, LEFT_S) is None:
            say(f"the run of {oven} goes on; `kilnctl watch` shows it, `kilnctl off` ends it")
            return 0
        return result(client, oven, say, as_json, since)
    clock, shown_s, last = RealClock(), 0.0, ""
    stood: tuple[AlarmView, ...] = ()
    # On a terminal one line that is written over; in a file a line a minute, and one for each change.
    end, period_s = ("\r", 1.0) if sys.stdout.isatty() else ("\n", 60.0)
    try:
        for snapshot in client.snapshots():
            if snapshot.oven != oven or snapshot.run != run_id:
                continue
            now = change_of(snapshot)
            if not as_json and now != last:
                print(live_line(snapshot) + alarm_words(snapshot, stood), flush=True)
                shown_s, last, stood = clock.real_s(), now, snapshot.alarms
            elif not as_json and clock.real_s() - shown_s >= period_s:
                print(live_line(snapshot), end=end, flush=True)
                shown_s = clock.real_s()
            if snapshot.state not in LIVE:
                break
    except KeyboardInterrupt:
        say("\nheat off requested")
        client.ask(Command("off", oven, who=who()), 5.0)
    return result(client, oven, say, as_json, since)


def change_of(s: Snapshot) -> str:
    """Return what a person must hear of at once when it changes: state, step, alarms, trip."""
    alarms = (f"{a.kind} {a.state}" for a in s.alarms)
    waits = f"{s.waiting.say} {s.waiting.late(s.elapsed_s)}" if s.waiting else ""
    return "|".join((s.state, s.word, str(s.segment), waits, s.trip, *s.trip_later, *sorted(alarms)))


def alarm_words(s: Snapshot, stood: tuple[AlarmView, ...] = ()) -> str:
    """Return the alarms that stand, each in a line of its own, then those that stood before and are over."""
    shown = {a.kind for a in s.alarms}
    over = [a for a in stood if a.kind not in shown and not a.gone] if s.state in LIVE else []
    said = [f"alarm ({a.priority}, {a.state}): {a.reason_now}" for a in s.alarms]
    return "".join(f"\n  {line}" for line in [*said, *(f"alarm over: {a.subject}" for a in over)])


def live_line(s: Snapshot) -> str:
    """Return the plain live line; of a trip, whether the heat is off and what to do."""
    if s.trip:
        head = trip_head(s)
        return f"{head.action} {head.cause}".ljust(79)
    now = "no reading" if s.process_c is None else say_point(s.process_c)
    goal = "heat off" if s.goal_c is None else f"goal {say_point(s.goal_c)}"
    left = "" if s.total_left_s is None or s.waits_for else f", {say_duration(s.total_left_s)} left"
    left += f"; {s.waits}" if s.waits else ""
    left += f"; {s.next_words}" if s.word == "waiting to start" else ""
    left += f"; {s.note}" if s.word == "silent" else ""
    return f"{s.word}: {now}, {goal}{left}{_asked_of_you(s)}".ljust(79)


def _asked_of_you(s: Snapshot) -> str:
    """Return what the step that waits asks, until when and how to answer; a late one says so first."""
    if s.waiting is None:
        return ""
    say, left_s = s.waiting.say.removesuffix(" Answer done."), s.waiting.deadline_s - s.elapsed_s
    late = "LATE: " if s.waiting.late(s.elapsed_s) else ""
    return f" | {late}{say} Answer within {say_duration(max(0.0, left_s))}: `kilnctl answer done`"


def result(client: LinkClient, oven: str, say: Say, as_json: bool, since: ReadBackSince) -> int:
    """Wait for the outcome, print it, return its exit code. Raises KilnctlError when there is none."""
    status = _outcome(client, oven, END_S)
    if status is None:
        raise LinkError("the run did not report its end; see `kilnctl status`")
    tell(since.told(status["summary"]), say, as_json)
    return int(status["exit_code"])


def tell(summary: dict[str, Any], say: Say, as_json: bool) -> None:
    """Print how a run has ended."""
    if as_json:
        print(json.dumps(summary, allow_nan=False))
    else:
        heat = "heat off, read back" if summary.get("heat_off_confirmed") else not_off(summary)
        if summary.get("never_heated"):
            heat = "nothing was heated"
        why = (summary["cause"] or "all steps done").removesuffix("; the heat is off")
        say(f"\n{in_words(summary['outcome'])}: {why}; {heat} (run {summary['run']})")


def not_off(summary: dict[str, Any]) -> str:
    """Say that the heat was not read back as off, and where it is cut by hand."""
    return action("unproven", str(summary.get("isolator") or "")).rstrip(".")


def _outcome(client: LinkClient, oven: str, wait_s: float) -> dict[str, Any] | None:
    clock = RealClock()
    give_up_s = clock.real_s() + wait_s
    while clock.real_s() < give_up_s:
        answer = client.ask(Command("status", oven, who=who()), 5.0)
        status: dict[str, Any] = answer.data.get("ovens", {}).get(oven, {})
        if status and not status["busy"]:
            return status
        clock.pause(0.1)
    return None
