"""What a view says when its controller has gone: the record's own end, or else the supervisor's words."""

from datetime import datetime
from typing import Any

from kilnctl.cli.watch.read_back_since import ReadBackSince
from kilnctl.clock import Clock, RealClock
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.errors import LinkError, RecordError
from kilnctl.logbook.readers import Reader
from kilnctl.marks import latch, running_ovens, supervisor_report
from kilnctl.stages import EXIT_CODES

SUPERVISOR_S = 8.0  # it has five seconds to cut the heat, then it speaks
LATCHED_S = 6.0  # off is sent and said, then the latch's modules are loaded
LOOK_S = 0.1
TRIPPED, INCOMPLETE = EXIT_CODES["tripped"], 6


def end_of(
    run_id: int,
    oven: Oven,
    began: datetime,
    error: LinkError,
    since: ReadBackSince,
    clock: Clock | None = None,
    watches: bool = False,
) -> tuple[int, dict[str, Any]]:
    """Return exit code and summary of a run whose controller hung up, waiting for whoever knows more.

    `watches`: it only recorded; nothing latches that, and nothing is to be cut.
    """
    clock = clock or RealClock()
    give_up_s = clock.real_s() + SUPERVISOR_S
    while clock.real_s() < give_up_s:
        summary = _recorded(run_id)
        if summary is not None:
            return _code(summary), {**since.told(summary), "isolator": oven.isolator}
        words = supervisor_report.newer(began)
        if words is not None:
            off = words.off.get(oven.name, False) or oven.name in since.off()
            broken = _broken(run_id, oven, words.why if off else words.line(), off)
            if watches and oven.name not in words.off:
                return INCOMPLETE, {**broken, "outcome": "interrupted", "never_heated": True}
            return TRIPPED, {**broken, "outcome": _latched_soon(oven.name, clock)}
        clock.pause(LOOK_S)
    if watches and running_ovens.is_watched(oven.name):
        return INCOMPLETE, {
            **_broken(run_id, oven, str(error), False), "outcome": "interrupted", "never_heated": True
        }  # fmt: skip
    cause = f"{error}; nobody has read back the heat as off: `kilnctl off`, or {oven.isolator}"
    off = oven.name in since.off()  # somebody's `kilnctl off` in another terminal
    broken = _broken(run_id, oven, str(error) if off else cause, off)
    return TRIPPED, {**broken, "outcome": _by_latch(oven.name)}


def _latched_soon(oven: str, clock: Clock) -> str:
    """Return `_by_latch`, in time for the supervisor, which speaks before it latches.

    One that only cuts what a crash has left latches nothing.
    """
    give_up_s = clock.real_s() + LATCHED_S
    while _by_latch(oven) == "interrupted" and clock.real_s() < give_up_s:
        clock.pause(LOOK_S)
    return _by_latch(oven)


def _by_latch(oven: str) -> str:
    """Say of a heat whose end nobody told what its latch says: the next start goes by that alone."""
    said = latch.read(oven)
    return "interrupted" if said is None or said.state == "armed" else "tripped"


def _recorded(run_id: int) -> dict[str, Any] | None:
    """Return the summary of a run that was finished: the controller ended it and then left."""
    try:
        with Reader(home.logbook_path()) as reader:
            if not reader.run(run_id).outcome:
                return None
            return {**reader.summary(run_id), "run": run_id}
    except RecordError:
        return None


def _code(summary: dict[str, Any]) -> int:
    code = EXIT_CODES.get(str(summary.get("outcome")), TRIPPED)
    whole = summary.get("record", {}).get("complete", False)
    return INCOMPLETE if code == 0 and not whole else code


def _broken(run_id: int, oven: Oven, cause: str, off: bool) -> dict[str, Any]:
    return {
        "run": run_id,
        "cause": cause,
        "oven": oven.name,
        "isolator": oven.isolator,
        "simulated": oven.simulated,
        "heat_off_confirmed": off,
        "record": {"complete": False},
    }
