"""Invented heats for the logbook's tests: a small tempering oven creeping up to 218 degC, with noise."""

import math
import random
from pathlib import Path

from kilnctl.logbook import entries
from kilnctl.logbook.sample import Sample
from kilnctl.logbook.writer import Event, Logbook, RunHeader

START_UTC = 1_790_000_000.0


def header(**over: object) -> RunHeader:
    known = {
        "oven": "tempering-oven",
        "oven_file": 'name = "tempering-oven"\n',
        "profile": 'name = "gouge temper"\n',
        "profile_name": "gouge temper",
        "started_utc": START_UTC,
        "steel": "O1",
        "part": "gouge 7",
        "simulated": True,
    }
    return RunHeader(**{**known, **over})  # type: ignore[arg-type]


def samples(count: int, seed: int = 1, start_s: float = 0.0) -> list[Sample]:
    dice, made = random.Random(seed), []
    temperature_c, setpoint_c, part_c, dose_s, energy_kwh = 20.0, 20.0, 20.0, 0.0, 0.0
    for i in range(count):
        setpoint_c = min(218.0, setpoint_c + 0.05)
        temperature_c += (setpoint_c - temperature_c) * 0.02 + dice.gauss(0, 0.05)
        part_c += (temperature_c - part_c) * 0.003
        dose_s += math.exp((part_c - 218) / 20)
        on = dice.random() < 0.4
        energy_kwh += on * 1200 / 3.6e6
        at_s = start_s + i + dice.random() * 0.002
        made.append(
            Sample(
                elapsed_s=at_s,
                utc_s=START_UTC + at_s,
                state=1,
                segment=0 if setpoint_c < 218 else 1,
                setpoint_c=setpoint_c,
                process_c=round(temperature_c, 1),
                duty=dice.random(),
                heat_on=on,
                raw_count=round(temperature_c * 10),
                second_c=round(temperature_c + dice.gauss(0, 0.1), 1),
                part_c=part_c,
                contactor_on=True,
                unexplained=dice.gauss(0, 0.02) if i > 60 else None,
                segment_s=float(i),
                soak_oven_s=0.0,
                soak_part_s=0.0,
                dose20_s=dose_s,
                dose_c_s=dose_s * 0.9,
                energy_kwh=energy_kwh,
            )
        )
    return made


def events(count: int) -> list[Event]:
    return [Event(float(i), START_UTC + i, "alarm", f"word {i}", {"n": i}) for i in range(count)]


def one_run(book: Logbook, count: int = 200, end: bool = True, **over: object) -> int:
    run = book.start_run(header(**over))
    book.append(run, samples(count), events(3))
    if end:
        book.finish(run, "complete", {"cause": "", "peak_c": 219.1}, START_UTC + count)
    return run


def a_book(folder: Path) -> Logbook:
    return Logbook(folder / "logbook.sqlite")


TWO_SEGMENTS = """
name = "gouge temper"
steel = "O1"
section = "4 mm"
goal_hrc = [60, 62]

[[segment]]
kind = "ramp"
to = "218 C"
rate = "180 C/h"
purpose = "temper"
label = "heat"

[[segment]]
kind = "soak"
at = "218 C"
time = "2h"
band = "5 C"
purpose = "temper"
label = "soak"
"""


def temper(hot_k: float = 0.0, soak_s: int = 7200) -> list[Sample]:
    """A heat by ruler: 180 K/h from 20 to 218 degC, then a soak `hot_k` above it. Invented, no noise."""
    ramp_s, made = 3960, []
    for i in range(ramp_s + soak_s):
        soaking = i >= ramp_s
        goal_c = 218.0 if soaking else 20.0 + 0.05 * i
        made.append(
            Sample(
                elapsed_s=float(i),
                utc_s=START_UTC + i,
                state=1,
                segment=1 if soaking else 0,
                setpoint_c=goal_c,
                process_c=goal_c + (hot_k if soaking else 0.0),
                duty=0.4,
                heat_on=i % 10 < 4,
                part_c=goal_c,
                soak_oven_s=float(i - ramp_s) if soaking else 0.0,
                soak_part_s=0.0,
                dose20_s=float(i - ramp_s) if soaking else 0.0,
                dose_c_s=float(i - ramp_s) if soaking else 0.0,
                energy_kwh=0.4 * 1200 * i / 3.6e6,
            )
        )
    return made


def ruled_run(book: Logbook, hot_k: float = 0.0, soak_s: int = 7200, **over: object) -> int:
    run = book.start_run(header(profile=TWO_SEGMENTS, period_s=1.0, **over))
    book.append(run, temper(hot_k, soak_s), [Event(100.0, START_UTC + 100, "alarm", "behind its set-point")])
    book.finish(run, "complete", {"cause": "", "predicted_hrc": [59.0, 62.0]}, START_UTC + 3960 + soak_s)
    return run


def a_full_book(folder: Path) -> Logbook:
    """Return a logbook of three runs and three entries, one of them corrected."""
    book = a_book(folder)
    for count, end in ((200, True), (95, False), (10, True)):
        one_run(book, count, end)
    wrong = entries.add(book, entries.PartEntry("gouge 7", "5160"), START_UTC)
    entries.add(book, entries.PartEntry("gouge 7", "O1"), START_UTC + 1, corrects=wrong)
    entries.add(book, entries.Note("gouge 7", "sent"), START_UTC + 2, run=2)
    return book
