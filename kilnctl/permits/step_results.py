"""Results of set-up steps in the logbook: kept with what they rest on, read back as the newest of each."""

import hashlib
from collections.abc import Mapping
from typing import Any

from kilnctl.config.oven import Oven
from kilnctl.logbook.entries import CommissioningStep, LearnedOven, add, in_force
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.permits.fingerprint import fingerprint
from kilnctl.permits.open_steps import StepResult
from kilnctl.permits.setup_steps import SetupStep, expiry_utc


def hash_of(oven_text: str) -> str:
    """Return the checksum of an oven file by which a change is noticed."""
    return hashlib.sha256(oven_text.encode()).hexdigest()[:16]


def results(reader: Reader, oven: str) -> dict[str, StepResult]:
    """Return the newest result of every step of an oven; a learned model counts as its step."""
    done = {
        entry.step: StepResult(
            entry.passed,
            row.utc_s,
            entry.value,
            entry.expires_utc,
            entry.oven_hash,
            entry.data,
            entry.rests_on,
        )
        for row, entry in in_force(reader, CommissioningStep, oven)
    }
    learned = [(row.utc_s, entry.rests_on) for row, entry in in_force(reader, LearnedOven, oven)]
    if learned and "learn" not in done:
        done["learn"] = StepResult(True, learned[-1][0], rests_on=learned[-1][1])
    return done


def keep(
    book: Logbook,
    oven: Oven,
    oven_text: str,
    step: SetupStep,
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
        rests_on=fingerprint(step.name, oven),
    )
    add(book, entry, now_s)
    return entry
