"""The command about ovens and things to look after: calibration, survey, ageing, counters, reminders."""

import re
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

from kilnctl.cli.book import COMPLETE, Flag, opened
from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ConfigError
from kilnctl.units import parse_duration_s, parse_point_c, say_duration

if TYPE_CHECKING:
    from kilnctl.logbook.entries import Typed
    from kilnctl.logbook.readers import Reader

_PAIR = re.compile(r"(.+?)\s+is\s+(.+)")
_PLACE = re.compile(r"(.+?)\s*=\s*(.+)")
# From which share of the oven's limit to which the full-power time is compared.
_FROM_SHARE, _TO_SHARE = 0.4, 0.7


def care(
    thing: str,
    /,
    *,
    calibrate: Literal["process", "second", "load"] | None = None,
    low: str | None = None,
    high: str | None = None,
    left: str | None = None,
    reference: str = "",
    survey: str | None = None,
    at: Annotated[list[str] | None, Parameter(name="--at")] = None,
    loaded: Flag = False,
    plateau: int | None = None,
    metal: Literal["tin", "zinc", "aluminium", "water"] = "tin",
    altitude_m: float = 0.0,
    ageing: Flag = False,
    volts: float | None = None,
    remind: str | None = None,
    every: str | None = None,
    counter: str | None = None,
    limit: float | None = None,
    done: str | None = None,
    count: str | None = None,
    note: str = "",
    who: str = "",
) -> int:
    """Show what is due for an oven (or another thing) and its counters; with further words, do one of these.

    Parameters
    ----------
    thing:
        An oven's name, or anything that you look after ("oil tank", "workshop").
    calibrate:
        Correct this sensor by two points, --low and --high.
    low:
        Lower point: reading and reference ("219.5 C is 218.0 C").
    high:
        Upper point ("834.0 C is 830.0 C").
    left:
        What was read when it was measured again afterwards ("830.2 C is 830.0 C").
    reference:
        The reference instrument.
    survey:
        Uniformity survey at this temperature, with --at for every position.
    at:
        A position and what was read there ("front left = 826.1 C"), five or more.
    loaded:
        The survey was done with a usual load.
    plateau:
        Find the freezing (or boiling) plateau in this recorded run.
    metal:
        Which metal, or water.
    altitude_m:
        Height above the sea in metres, for water.
    ageing:
        Compare full-power heating times of the oven's runs.
    volts:
        The supply voltage measured now, for --ageing.
    remind:
        A thing to be reminded of, with --every or with --counter and --limit.
    every:
        How often ("2160 h" for ninety days).
    counter:
        "element hours", "sensor hours above 800 °C", "relay closures", or one that you count yourself.
    limit:
        At which count it is due.
    done:
        This was looked after or replaced today.
    count:
        Count one more of this ("quenches").
    note:
        A word to keep with it.
    who:
        Who did it.
    """
    made: list[Typed] = []
    if calibrate is not None:
        made.append(_calibration(thing, calibrate, low, high, left, reference, who, note))
    if survey is not None:
        made.append(_survey(thing, survey, at or [], loaded, who, note))
    made += _small(thing, remind, every, counter, limit, done, count, note, who)
    if made:
        _write(made)
    if plateau is not None:
        _show_plateau(plateau, metal, altitude_m)
    if ageing:
        _show_ageing(_oven(thing), volts)
    _show(thing)
    return COMPLETE


def _oven(name: str) -> Oven:
    return load_oven(home.find(name, "ovens", ConfigError))


def _pair(text: str | None, option: str) -> tuple[float, float]:
    match = _PAIR.fullmatch(text.strip()) if text else None
    if match is None:
        raise ConfigError(f'--{option} takes reading and reference, like: --{option} "219.5 C is 218.0 C"')
    return parse_point_c(match[1]), parse_point_c(match[2])


def _calibration(
    thing: str,
    sensor: str,
    low: str | None,
    high: str | None,
    left: str | None,
    reference: str,
    who: str,
    note: str,
) -> "Typed":
    from kilnctl.logbook.calibration import largest_error_k, two_point
    from kilnctl.logbook.entries import Calibration

    if not reference:
        raise ConfigError('say what you compared with, like: --reference "K sensor 3, certificate of May"')
    points = (_pair(low, "low"), _pair(high, "high"))
    found = two_point(*points, used_to_c=_oven(thing).limit_c)
    left_k = None if left is None else largest_error_k([_pair(left, "left")])
    print(f"corrected = {found.gain:.5f} x reading {found.offset_c:+.3f} C")
    return Calibration(
        thing,
        sensor,
        found.gain,
        found.offset_c,
        points,
        round(largest_error_k(points), 2),
        None if left_k is None else round(left_k, 2),
        reference,
        who,
        note,
    )


def _survey(thing: str, survey: str, at: list[str], loaded: bool, who: str, note: str) -> "Typed":
    from kilnctl.logbook.entries import Survey
    from kilnctl.logbook.uniformity import deviations, orientation

    at_c, readings = parse_point_c(survey), []
    for text in at:
        match = _PLACE.fullmatch(text.strip())
        if match is None:
            raise ConfigError(f'cannot read "{text}" as a position; write it like "front left = 826.1 C"')
        readings.append((match[1], parse_point_c(match[2])))
    low_k, high_k = deviations(at_c, readings)
    print(orientation(low_k, high_k))
    return Survey(thing, at_c, tuple(readings), round(low_k, 2), round(high_k, 2), loaded, who, note)


def _small(
    thing: str,
    remind: str | None,
    every: str | None,
    counter: str | None,
    limit: float | None,
    done: str | None,
    count: str | None,
    note: str,
    who: str,
) -> "list[Typed]":
    from kilnctl.logbook.entries import Count, Done, Reminder

    made: list[Typed] = []
    if remind is not None:
        if every is None and (counter is None or limit is None):
            raise ConfigError("a reminder needs --every, or --counter and --limit")
        days = None if every is None else parse_duration_s(every) / 86_400.0
        made.append(Reminder(thing, remind, days, counter or "", limit, note))
    if done is not None:
        made.append(Done(thing, done, note, who))
    if count is not None:
        made.append(Count(thing, count, 1.0, None, note))
    return made


def _write(made: "list[Typed]") -> None:
    from kilnctl.logbook import entries
    from kilnctl.logbook.book import Logbook

    now_utc = RealClock().utc().timestamp()
    path: Path = home.logbook_path()
    with Logbook(path) as book:
        for entry in made:
            entries.add(book, entry, now_utc)


def _show_plateau(run: int, metal: str, altitude_m: float) -> None:
    from kilnctl.logbook.calibration import FIXED_POINTS_C, boiling_c, plateau_c

    true_c = boiling_c(altitude_m) if metal == "water" else FIXED_POINTS_C[metal]
    with opened() as reader:
        curve = reader.curve(run)
    found_c = plateau_c(curve.column("elapsed_s"), curve.column("process_c"), true_c)
    print(
        f"plateau at {found_c:.1f} C, {metal} is {true_c:.1f} C: correction {true_c - found_c:+.1f} K there"
    )


def _show_ageing(oven: Oven, volts: float | None) -> None:
    from kilnctl.logbook.ageing import history

    from_c, to_c = _FROM_SHARE * oven.limit_c, _TO_SHARE * oven.limit_c
    with opened() as reader:
        found = history(reader, oven.name, from_c, to_c)
    if len(found) < 2:
        print(f"no two runs went from {from_c:.0f} to {to_c:.0f} C at full power: nothing to compare yet")
        return
    (first, before_s), (last, now_s) = found[0], found[-1]
    print(f"{from_c:.0f} to {to_c:.0f} C at full power: run {first} took {say_duration(before_s)}, ")
    print(f"  run {last} {say_duration(now_s)} ({(now_s / before_s - 1.0) * 100.0:+.0f} %)")
    print(f"  {_judged(oven, first, before_s, now_s, from_c, to_c, volts)}")


def _judged(
    oven: Oven, first: int, before_s: float, now_s: float, from_c: float, to_c: float, volts: float | None
) -> str:
    from kilnctl.logbook.ageing import body_of, held_duty, judge, power_w

    with opened() as reader:
        held = held_duty(reader.curve(first))
    if held is None:
        return "its first run held no temperature: how much heat is lost is not known, judge by the times"
    hold_c, duty = held
    body = body_of(oven.power_w, duty, hold_c, before_s, from_c, to_c, oven.ambient_c)
    return judge(power_w(body, now_s, from_c, to_c), oven.power_w, volts, oven.supply_v)


def _show(thing: str) -> None:
    from kilnctl.logbook.due import counters, everything_due
    from kilnctl.logbook.entries import Calibration, in_force

    with opened() as reader:
        for due in everything_due(reader, RealClock().utc().timestamp(), thing):
            print(f"{'OVERDUE' if due.overdue else 'soon':<8} {due.words}")
        for name, total, unit in counters(reader, thing):
            print(f"{name}: {total:.1f} {unit}".rstrip())
        for row, found in in_force(reader, Calibration, thing):
            day = f"{datetime.fromtimestamp(row.utc_s, UTC).astimezone():%Y-%m-%d}"
            print(f"{day} {found.sensor}: as found {found.as_found_k:+.1f} K, gain {found.gain:.5f}, "
                  f"offset {found.offset_c:+.3f} C, {found.reference}")  # fmt: skip
        _trend(reader, thing)


def _trend(reader: "Reader", thing: str) -> None:
    """Say when a sensor drifts one way: three calibrations, each found further off than the last."""
    from kilnctl.logbook.calibration import drifting
    from kilnctl.logbook.entries import Calibration, read

    for sensor in sorted({c.sensor for c in read(reader, Calibration, thing)}):
        errors = [c.as_found_k for c in read(reader, Calibration, thing) if c.sensor == sensor]
        if drifting(errors):
            said = ", ".join(f"{e:+.1f}" for e in errors[-3:])
            print(f"the {sensor} sensor drifts one way: {said} K; replace it")
