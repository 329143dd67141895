"""Which set-up steps are still open on an oven: never passed, failed, expired, or proof of another oven."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from kilnctl.config.oven import Oven
from kilnctl.permits.fingerprint import changed
from kilnctl.permits.setup_steps import SetupStep
from kilnctl.units import DAY_S


@dataclass(frozen=True, slots=True)
class StepResult:
    """The newest result of a step. Times are unix seconds; `oven_hash` is the hash of the oven file then.

    `rests_on` is its fingerprint: the values that it proved something of, None where none was stored.
    """

    passed: bool
    utc_s: float
    value: float | None = None
    expires_utc: float | None = None
    oven_hash: str = ""
    data: Mapping[str, Any] = field(default_factory=dict)
    rests_on: Mapping[str, Any] | None = None


def open_or_overdue(
    steps: Iterable[SetupStep], done: Mapping[str, StepResult], now_s: float, oven: Oven, oven_hash: str
) -> tuple[str, ...]:
    """Return one line for each step that was never passed, failed, has expired or proved another oven."""
    lines = (_why_open(step, done.get(step.name), now_s, oven, oven_hash) for step in steps)
    return tuple(line for line in lines if line)


def _why_open(step: SetupStep, done: StepResult | None, now_s: float, oven: Oven, oven_hash: str) -> str:
    if done is None:
        return f"{step.name}: never done"
    if not done.passed:
        return f"{step.name}: failed {_ago(now_s - done.utc_s)}"
    if done.expires_utc is not None and now_s > done.expires_utc:
        return f"{step.name}: expired {_ago(now_s - done.expires_utc)}"
    if done.utc_s > now_s + DAY_S:
        return f"{step.name}: is dated in the future; set the clock, or do it again"
    if step.name == "oven file" and done.oven_hash != oven_hash:
        return f"{step.name}: the file has changed since it was confirmed"
    why = changed(step.name, done.rests_on, oven)
    return f"{step.name}: {why}" if why else ""


def _ago(seconds: float) -> str:
    days = int(seconds // DAY_S)
    return "today" if days == 0 else f"{days} day{'s' if days > 1 else ''} ago"
