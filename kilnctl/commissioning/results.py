"""Results of set-up steps in the logbook, and what is open or overdue."""

import hashlib
from collections.abc import Collection, Mapping
from datetime import UTC, datetime
from typing import Any

from kilnctl.config.oven import Oven
from kilnctl.logbook.book import Logbook
from kilnctl.logbook.entries import CommissioningStep, LearnedOven, add, in_force
from kilnctl.logbook.readers import Reader
from kilnctl.runtime.steps import STEPS, Done, Step, expiry_utc, open_or_overdue


def hash_of(oven_text: str) -> str:
    """Return the checksum of an oven file by which a change is noticed."""
    return hashlib.sha256(oven_text.encode()).hexdigest()[:16]


def results(reader: Reader, oven: str) -> dict[str, Done]:
    """Return the newest result of every step of an oven; a learned model counts as its step."""
    done = {
        entry.step: Done(entry.passed, row.utc_s, entry.value, entry.expires_utc, entry.oven_hash, entry.data)
        for row, entry in in_force(reader, CommissioningStep, oven)
    }
    learned = [row.utc_s for row, _ in in_force(reader, LearnedOven, oven)]
    if learned and "learn" not in done:
        done["learn"] = Done(True, learned[-1])
    return done


def keep(
    book: Logbook,
    oven: Oven,
    oven_text: str,
    step: Step,
    passed: bool,
    now_s: float,
    *,
    value: float | None = None,
    note: str = "",
    who: str = "",
    data: Mapping[str, Any] | None = None,
) -> CommissioningStep:
    """Write a step's result, dated, with its expiry; a value outside the step's limits does not pass."""
    entry = CommissioningStep(
        oven=oven.name,
        step=step.name,
        passed=passed and step.accepts(value),
        value=value,
        unit=step.unit,
        expires_utc=expiry_utc(step, now_s),
        note=note,
        who=who,
        oven_hash=hash_of(oven_text),
        data=dict(data or {}),
    )
    add(book, entry, now_s)
    return entry


def stored(kept: CommissioningStep, now_s: float) -> str:
    """Say what was stored of a step: passed or not, the value, the day, and until when it holds."""
    value = "" if kept.value is None else f" {kept.value:.3g} {kept.unit}".rstrip()
    until = "" if kept.expires_utc is None or not kept.passed else f", holds until {day(kept.expires_utc)}"
    return f"{'passed' if kept.passed else 'NOT passed'}{value}, stored {day(now_s)}{until}"


def day(utc_s: float) -> str:
    """Return the local day of a unix time."""
    return f"{datetime.fromtimestamp(utc_s, UTC).astimezone():%Y-%m-%d}"


def listing(
    done: Mapping[str, Done], now_s: float, oven_hash: str, left_out: Collection[str] = ()
) -> list[str]:
    """Return one line a step: what is done, open or overdue, and what stands and falls with it.

    `left_out` are steps that make no sense on this oven.
    """
    return [
        f"-     {step.name:22} not needed on this oven"
        if step.name in left_out
        else _line(step, done.get(step.name), now_s, oven_hash)
        for step in STEPS
    ]


def _line(step: Step, done: Done | None, now_s: float, oven_hash: str) -> str:
    problem = open_or_overdue([step], {} if done is None else {step.name: done}, now_s, oven_hash)
    if problem:
        _, _, why = problem[0].partition(": ")
        return f"open  {step.name:22} {why}; needed for {step.blocks}"
    assert done is not None
    value = "" if done.value is None else f" {done.value:g} {step.unit}"
    left = "" if done.expires_utc is None else f", {(done.expires_utc - now_s) / 86400:.0f} days left"
    return f"done  {step.name:22}{value}{left}"
