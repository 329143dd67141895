"""The commands that heat, for real or in rehearsal: run, dry-run."""

import json
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

from cyclopts import Parameter

from kilnctl.config import home
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ConfigError, KilnctlError, ProfileError, RunRefused
from kilnctl.link.client import LinkClient
from kilnctl.link.snapshot import Command, Snapshot
from kilnctl.profile.segments import Profile
from kilnctl.profile.write import profile_toml
from kilnctl.runtime.spawn import ensure_running
from kilnctl.treatment.job import load_job, soak_job
from kilnctl.units import parse_duration_s, parse_point_c, say_duration, say_point

CAUTION = (
    "CAUTION: this program is not a safety device. An independent over-temperature limit must be fitted and "
    "tested; follow local codes; stay where you can switch off at: {isolator}. Oil fire: lid, not water."
)
NOT_CHECKED = ("this oven is not commissioned: independent limit, dead-man time and sensors are your word",)


def choose_oven(name: str | None) -> tuple[Path, Oven]:
    """Return the oven that is meant; it may be left out where exactly one of the owner's is known."""
    if name is None:
        own = sorted((home.home() / "ovens").glob("*.toml"))
        if len(own) != 1:
            raise ConfigError(f"say which oven: --oven {' | '.join(home.known('ovens'))}")
        path = own[0]
    else:
        path = home.find(name, "ovens", ConfigError)
    return path, load_oven(path)


def run(
    job: str | None = None,
    /,
    *,
    oven: str | None = None,
    soak: str | None = None,
    for_: Annotated[str | None, Parameter(name="--for")] = None,
    record_only: bool = False,
    unattended: bool = False,
    time_scale: float = 1.0,
    yes: bool = False,
    json_: Annotated[bool, Parameter(name="--json")] = False,
) -> int:
    """Run a recipe or profile on an oven.

    Parameters
    ----------
    job: a recipe or profile file, or the name of a bundled recipe
    oven: an oven file or the name of a known oven
    soak: a temperature to hold, for a job without a file ("218C")
    for_: how long to hold it ("2h")
    record_only: watch and record, never heat
    unattended: nobody stays at the oven; needs a complete commissioning
    time_scale: seconds of the heat per real second, simulated ovens only
    yes: do not ask the attended-run question (for scripts on simulated ovens)
    json_: print one JSON object at the end
    """
    path, chosen = choose_oven(oven)
    profile, warnings = what(job, soak, for_, record_only, chosen)
    say = (lambda text: print(text, file=sys.stderr)) if json_ else print
    for warning in warnings:
        say(f"warning: {warning}")
    caution(chosen, unattended, yes, say)
    ensure_running()
    client = LinkClient(home.socket_path())
    answer = client.ask(
        Command(
            "run",
            chosen.name,
            {
                "oven": path.read_text(encoding="utf-8"),
                "oven_name": path.name,
                "oven_path": str(path.resolve()),
                "profile": profile_toml(profile),
                "profile_name": profile.name,
                "unattended": unattended,
                "record_only": record_only,
                "time_scale": time_scale,
                "warnings": list(warnings),
                "not_checked": list(NOT_CHECKED if not chosen.simulated else ()),
            },
            who(),
        ),
        timeout_s=15.0,
    )
    if not answer.accepted:
        raise RunRefused(answer.why)
    return follow(client, chosen.name, int(answer.data["run"]), say, json_)


def what(
    job: str | None, soak: str | None, for_: str | None, record_only: bool, oven: Oven
) -> tuple[Profile, tuple[str, ...]]:
    """Return the profile that the words mean and its warnings."""
    if record_only:
        return soak_job(oven.ambient_c, 48 * 3600.0, oven), ()
    if soak is not None or for_ is not None:
        if job is not None or soak is None or for_ is None:
            raise ProfileError("give either a JOB or both --soak and --for, like: run --soak 218C --for 2h")
        return soak_job(parse_point_c(soak), parse_duration_s(for_), oven), ()
    if job is None:
        raise ProfileError("say what to run: a recipe or profile file, or --soak and --for")
    plan = load_job(job, oven)
    return plan.profile, tuple(plan.warnings)


def caution(oven: Oven, unattended: bool, yes: bool, say: Callable[[str], object]) -> None:
    """Show the caution; on a live oven have the attended line acknowledged. Raises RunRefused."""
    say(CAUTION.format(isolator=oven.isolator))
    if oven.simulated:
        say("simulated oven: nothing real is heated")
        return
    if unattended:
        raise RunRefused("an unattended run on a live oven needs a complete commissioning")
    for line in NOT_CHECKED:
        say(f"not checked: {line}")
    if yes:
        return
    if not sys.stdin.isatty():
        raise RunRefused("a live run asks one question; start it from a terminal")
    if input('I stay here and can switch off by hand. Type "here" to heat: ').strip() != "here":
        raise RunRefused("not acknowledged; nothing was heated")


def who() -> str:
    """Return the terminal a command comes from."""
    try:
        return os.ttyname(0)
    except OSError:
        return f"process {os.getpid()}"


def follow(client: LinkClient, oven: str, run_id: int, say: Callable[[str], object], as_json: bool) -> int:
    """Show the live line until the run is over; Ctrl-C asks for off. Returns the exit code."""
    shown_s = 0.0
    try:
        for snapshot in client.snapshots():
            if snapshot.oven != oven or snapshot.run != run_id:
                continue
            now_s = time.monotonic()
            if not as_json and now_s - shown_s >= 1.0:
                live_line(snapshot)
                shown_s = now_s
            if snapshot.state not in ("running", "held"):
                break
    except KeyboardInterrupt:
        print("\noff asked", file=sys.stderr)
        client.ask(Command("off", oven, who=who()), timeout_s=5.0)
    return result(client, oven, say, as_json)


def live_line(s: Snapshot) -> None:
    """Print the plain live line."""
    now = "no reading" if s.process_c is None else say_point(s.process_c)
    goal = "heat off" if s.goal_c is None else f"goal {say_point(s.goal_c)}"
    left = "" if s.total_left_s is None else f", {say_duration(s.total_left_s)} left"
    print(f"\r{s.word}: {now}, {goal}{left}   ".ljust(78), end="", flush=True)


def result(client: LinkClient, oven: str, say: Callable[[str], object], as_json: bool) -> int:
    """Wait for the outcome, print it, return its exit code."""
    for _ in range(100):
        answer = client.ask(Command("status", oven, who=who()), timeout_s=5.0)
        status: dict[str, Any] = answer.data.get("ovens", {}).get(oven, {})
        if not status.get("busy", True):
            break
        time.sleep(0.2)
    else:
        raise KilnctlError("the run did not report its end; see `kilnctl status`")
    summary = status["summary"]
    if as_json:
        print(json.dumps(summary, allow_nan=False))
    else:
        say(f"\n{summary['outcome']}: {summary['cause'] or 'all segments done'} (run {summary['run']})")
    return int(status["exit_code"])
