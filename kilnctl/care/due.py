"""What is due: set-up steps, calibrations, surveys, and what the owner asked to be reminded of."""

from collections.abc import Iterable
from dataclasses import dataclass

from kilnctl.logbook.entries import (
    Calibration,
    CareDone,
    CommissioningStep,
    Count,
    Reminder,
    Survey,
    in_force,
)
from kilnctl.logbook.readers import Reader
from kilnctl.units import DAY_S

# Defaults of the set-up walk; the owner may shorten them with reminders of his own.
CALIBRATION_DAYS = SURVEY_DAYS = 365.0
SOON_DAYS = 14.0
# Counters that the runs keep by themselves: unit and where it stands in a run's line (seconds become hours).
RUN_COUNTERS: dict[str, tuple[str, str, float]] = {
    "element hours": ("h", "element_s", 3600.0),
    "sensor hours above 800 °C": ("h", "over_800_s", 3600.0),
    "relay closures": ("", "closures", 1.0),
}


@dataclass(frozen=True, slots=True)
class Due:
    """One thing to look after. `when_utc` is None where a counter and not a date decides."""

    of: str
    what: str
    words: str
    overdue: bool
    when_utc: float | None = None


def counter_total(reader: Reader, of: str, counter: str) -> float:
    """Return a counter since it was last started anew: hours, closures or times."""
    since_utc = max(
        (row.utc_s for row, d in in_force(reader, CareDone, of) if d.what == counter), default=0.0
    )
    by_hand = sum(
        c.amount for row, c in in_force(reader, Count, of) if c.what == counter and row.utc_s >= since_utc
    )
    if counter not in RUN_COUNTERS:
        return by_hand
    _, column, divisor = RUN_COUNTERS[counter]
    found = reader.rows(
        f"SELECT total({column}) FROM run WHERE oven = ? AND started_utc >= ?", (of, since_utc)
    )
    return by_hand + float(found[0][0]) / divisor


def counters(reader: Reader, of: str) -> list[tuple[str, float, str]]:
    """Return every counter of a thing as (name, total, unit); an oven's runs keep some by themselves."""
    by_hand = {c.what for _, c in in_force(reader, Count, of)}
    ran = bool(reader.runs(oven=of, limit=1))
    names = [*(RUN_COUNTERS if ran else ()), *sorted(by_hand - set(RUN_COUNTERS))]
    return [(name, counter_total(reader, of, name), RUN_COUNTERS.get(name, ("",))[0]) for name in names]


def everything_due(
    reader: Reader, now_utc: float, oven: str | None = None, ahead_days: float = SOON_DAYS
) -> list[Due]:
    """Return what is overdue or comes up within `ahead_days`, overdue first; of all ovens or of one."""
    found = [
        *_steps(reader, oven),
        *_yearly(reader, oven, now_utc),
        *(due for due in _reminders(reader, now_utc) if oven in (None, due.of)),
    ]
    horizon_utc = now_utc + ahead_days * DAY_S
    near = [_aged(d, now_utc) for d in found if d.when_utc is None or d.when_utc <= horizon_utc]
    return sorted(near, key=lambda d: (not d.overdue, d.when_utc or now_utc))


def overdue_on(reader: Reader, oven: str, now_utc: float) -> tuple[str, ...]:
    """Return what of an oven was overdue by its date at a time, in words: of a heat then, or now.

    Set-up steps are not among them: the permit to heat asks for those.
    """
    dated = (*_yearly(reader, oven, now_utc), *_reminders(reader, now_utc))
    late = [due for due in dated if due.of == oven and due.when_utc is not None and due.when_utc < now_utc]
    return tuple(_aged(due, now_utc).words for due in late)


def _aged(due: Due, now_utc: float) -> Due:
    if due.when_utc is None:
        return due
    days = (now_utc - due.when_utc) / DAY_S
    overdue = days > 0
    words = f"{due.words}: {days:.0f} days overdue" if overdue else f"{due.words}: due in {-days:.0f} days"
    return Due(due.of, due.what, words, overdue, due.when_utc)


def _steps(reader: Reader, oven: str | None) -> Iterable[Due]:
    newest: dict[tuple[str, str], CommissioningStep] = {}
    for _, step in in_force(reader, CommissioningStep, oven):
        newest[step.oven, step.step] = step
    for step in newest.values():
        if step.expires_utc is not None:
            yield Due(step.oven, step.step, f"set-up step {step.step}", False, step.expires_utc)


def _yearly(reader: Reader, oven: str | None, now_utc: float) -> Iterable[Due]:
    """Yield when each sensor's calibration and the survey fall due, by what was known at a time."""
    newest: dict[tuple[str, str], float] = {}
    for row, calibration in in_force(reader, Calibration, oven):
        if row.utc_s > now_utc:
            continue
        key = calibration.oven, f"calibration of the {calibration.sensor} sensor"
        newest[key] = row.utc_s + CALIBRATION_DAYS * DAY_S
        if calibration.taken_away:
            del newest[key]
    for row, survey in in_force(reader, Survey, oven):
        if row.utc_s > now_utc:
            continue
        newest[survey.oven, "uniformity survey"] = row.utc_s + SURVEY_DAYS * DAY_S
    for (of, what), when_utc in newest.items():
        yield Due(of, what, what, False, when_utc)


def _reminders(reader: Reader, now_utc: float) -> Iterable[Due]:
    newest: dict[tuple[str, str], tuple[float, Reminder]] = {}
    for row, reminder in in_force(reader, Reminder):
        if row.utc_s > now_utc:
            continue
        newest[reminder.of, reminder.what] = (row.utc_s, reminder)
    for since_utc, reminder in newest.values():
        done_utc = max(
            (
                row.utc_s
                for row, d in in_force(reader, CareDone, reminder.of)
                if d.what == reminder.what and row.utc_s <= now_utc
            ),
            default=since_utc,
        )
        if reminder.every_days is not None:
            when_utc = done_utc + reminder.every_days * DAY_S
            yield Due(reminder.of, reminder.what, reminder.what, False, when_utc)
        if reminder.counter and reminder.limit is not None:
            yield from _counted(reader, reminder, reminder.limit)


def _counted(reader: Reader, reminder: Reminder, limit: float) -> Iterable[Due]:
    total = counter_total(reader, reminder.of, reminder.counter)
    if total >= 0.9 * limit:
        unit = RUN_COUNTERS.get(reminder.counter, ("", "", 1.0))[0]
        words = f"{reminder.what}: {reminder.counter} {total:.0f} of {limit:.0f} {unit}".rstrip()
        yield Due(reminder.of, reminder.what, words, total >= limit)
