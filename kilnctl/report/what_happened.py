"""What hands, air and oven did to the part that the plan did not ask for, in words of the bench.

Read from the record alone: stamps of the hands against the plan's budget, the cooling by its real rate, the
minutes above the goal of a soak. What is said of grain and edge is common practice, no single source.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kilnctl.errors import KilnctlError
from kilnctl.logbook.entries import AirCool, read
from kilnctl.logbook.readers import Reader
from kilnctl.model.part import inside
from kilnctl.profile.segments import Operator, Soak, say_goal
from kilnctl.report.record import Record
from kilnctl.report.treatment_words import ON_THE_WAY
from kilnctl.treatment.consequence import begun, hrc_of, states
from kilnctl.treatment.segments.quench_steps import RECOVERS
from kilnctl.treatment.steel.cooling_names import name_any_cooling
from kilnctl.treatment.steel.steels import Steel, load_steel
from kilnctl.units import say_duration, say_point

INTO_THE_BATH = ("in the oil", "in the water", "in the bath", "between the plates", "in still air")
TOO_QUICK, NO_NORMALISE = "too quick for the anneal", ("not normalised", "no normalise")
Column = NDArray[Any]
OVER_K, OVER_S = 10.0, 60.0  # above the goal by more than a band, for longer than a swing


@dataclass(frozen=True, slots=True)
class Happening:
    """One thing that happened, under a word; `good` where it is as the plan asked."""

    word: str
    text: str
    good: bool = True


def what_happened(reader: Reader, record: Record) -> tuple[Happening, ...]:
    """Return what the record knows of transfers, coolings and hot minutes; nothing where there were none."""
    steel = _steel(record)
    return (*_transfers(record), *_coolings(reader, record, steel), *_over(record, steel))


def amiss(happenings: tuple[Happening, ...]) -> tuple[str, ...]:
    """Return the words of what the plan did not ask for."""
    return tuple(f.word for f in happenings if not f.good)


def _steel(record: Record) -> Steel | None:
    """Return the card of a record's steel, None where none is named or its card is gone."""
    try:
        return load_steel(record.info.steel) if record.info.steel else None
    except KilnctlError:
        return None


def as_quenched(record: Record) -> str:
    """Return what the card expects of a part that this heat left quenched and not tempered, else nothing."""
    steel = _steel(record)
    if record.profile is None or steel is None or record.info.outcome != "complete":
        return ""
    part = states(record.profile, steel, begun(record.profile))[-1]
    if part.structure != "quenched" or part.heats:
        return ""
    hrc = hrc_of(part, steel)
    about = "no card says how hard" if hrc is None else f"{say_goal(hrc)} by the card, if the quench took"
    return f"{about}; not tempered in this heat: until it is, it can crack on its own"


def _transfers(record: Record) -> Iterator[Happening]:
    """Yield each way to the bath with the plan's budget: the thinnest place alone in still air."""
    if record.profile is None:
        return
    quenches = [s for s in record.profile.segments if isinstance(s, Operator) and s.step == "quench"]
    ways = [e.data for e in record.events if e.data.get("mark") in INTO_THE_BATH]
    for n, way in enumerate(ways):
        took_s, quench = way.get("after_s"), quenches[min(n, len(quenches) - 1)] if quenches else None
        if not isinstance(took_s, int | float):
            continue
        allowed_s = None if quench is None else quench.transfer_s
        budget = "" if allowed_s is None else f", {allowed_s:.1f} s allowed"
        late = bool(way.get("late")) or (allowed_s is not None and took_s > allowed_s)
        means = ": LATE. The edge may be soft: file it there, on bare metal" if late else ""
        which = f" {n + 1}" if len(ways) > 1 else ""
        yield Happening(f"way to the bath{which}", f"{took_s:.1f} s{budget}{means}", not late)


def _coolings(reader: Reader, record: Record, steel: Steel | None) -> Iterator[Happening]:
    """Yield what the oven's own curve says of a cooling, and what somebody measured of one outside it."""
    told, profile = record.summary.get("treatment", {}), record.profile
    normalises = profile is not None and any(s.purpose == "normalise" for s in profile.segments)
    hottest_c = 870.0 if profile is None else profile.peak_c
    for word, key in (("cooled", "cooled"), ("cooled outside", "cooled outside"), ("cooling", "warning")):
        if isinstance(told.get(key), str):
            said = str(told[key])
            none = normalises and any(words in said for words in NO_NORMALISE)
            yield Happening(word, said, not none and TOO_QUICK not in said)
    for cooling in read(reader, AirCool, run=record.info.run):
        named = name_any_cooling((cooling.from_c - cooling.to_c) / cooling.took_s, steel, hottest_c)
        name = named.name.replace("from 700 to 500", f"from {cooling.from_c:.0f} to {cooling.to_c:.0f}")
        warning = f"; {named.warning}" if named.warning else ""
        none = normalises and "not normalised" in name
        yield Happening("measured outside", f"{name}: {cooling.words}{warning}", not none)


def _over(record: Record, steel: Steel | None) -> Iterator[Happening]:
    """Yield the minutes of each soak above its goal, and what they mean for the part."""
    if record.profile is None or not len(record.curve):
        return
    profile, columns = record.profile, record.curve.columns()
    for n, soak in enumerate(profile.segments):
        recovers = soak.label.startswith(RECOVERS)
        if isinstance(soak, Soak) and soak.purpose not in ON_THE_WAY and inside(profile, n) and not recovers:
            now = columns["segment"] == n
            hot_c, at_s = columns["process_c"][now], columns["elapsed_s"][now]
            over_s = _seconds(at_s, hot_c > soak.at_c + OVER_K)
            if over_s > OVER_S:
                top = f"{say_duration(over_s)} more than {OVER_K:.0f} K above {say_point(soak.at_c)}"
                highest = f"{say_point(float(np.nanmax(hot_c)))} at the highest"
                said = f"{top}, {highest}: {_means(soak, hot_c, steel)}"
                yield Happening("above the goal", said, good=False)


def _seconds(at_s: Column, now: Column) -> float:
    """Return the time in the samples for which something holds."""
    return float(np.sum(np.diff(at_s, append=at_s[-1:])[now])) if len(at_s) else 0.0


def _means(soak: Soak, hot_c: Column, steel: Steel | None) -> str:
    if soak.purpose in ("temper", "snap temper"):
        return "softer than planned; the temper's count and the predicted hardness allow for it"
    if soak.purpose == "stress relief":
        return "a part that was hardened before is softer"
    ceilings_c = [limit.low_c for limit in steel.too_hot] if steel is not None else []
    if soak.purpose == "harden" and ceilings_c and float(np.nanmax(hot_c)) > min(ceilings_c):
        too_hot = f"above the {say_point(min(ceilings_c))} that the steel's card allows"
        return (
            f"{too_hot}: coarse grain and more retained austenite are likely; break a coupon of the same heat"
        )
    return "the grain may have grown; look at a broken coupon"
