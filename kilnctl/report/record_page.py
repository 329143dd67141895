"""The record of a heat as a page: what a customer keeps in front, how it was measured on the back."""

import re
from collections.abc import Iterable

import numpy as np

from kilnctl.care import between_ovens
from kilnctl.care.going_on import how_it_ended
from kilnctl.care.late_entries import stamp_words
from kilnctl.clock import say_minute
from kilnctl.logbook.entries import Hardness, LatchChange, Note, PartEntry, Warp, in_force, newest, read
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.records import Event
from kilnctl.profile.segments import Soak, say_goal
from kilnctl.report.achieved import achieved
from kilnctl.report.charts.chart import draw
from kilnctl.report.charts.svg_chart import svg_text
from kilnctl.report.charts.time_axis import clock_of
from kilnctl.report.layout.document import (
    Block,
    Chart,
    Document,
    Heading,
    Lead,
    Overleaf,
    Pairs,
    Paragraphs,
    Rows,
    Warned,
)
from kilnctl.report.measured_with import sensors, uncertainty, uncertainty_rows
from kilnctl.report.record import Record
from kilnctl.report.steps_table import steps
from kilnctl.report.treatment_words import subject, treatment, verdict
from kilnctl.report.uncertainty import Statement
from kilnctl.report.what_happened import Happening, amiss, as_quenched, what_happened
from kilnctl.report.workshop import Workshop
from kilnctl.units import say_duration, say_mm

SUPPORT = "Records to support a statement about this heat; not a statement of compliance with any standard."
CHAIN = (
    "The hash covers all that was recorded. It detects any change, except by someone who recomputes it: "
    "keep a copy of the hash elsewhere."
)
MOST_EVENTS = 9
ENDS = ("trip", "found later", "not confirmed off", "off")  # never left out
TOLD = (*ENDS, "alarm", "alarm back", "alarm over", "acknowledge", "shelve", "answer", "mark", "adjust")


def record_page(reader: Reader, record: Record, shop: Workshop) -> Document:
    """Return the record of a run as a document."""
    info, v = record.info, record.verdict
    parts = achieved(record)
    happened = what_happened(reader, record)
    said, good = verdict(record, parts, amiss(happened))
    statement = uncertainty(reader, record)
    done = treatment(record.profile)
    title, what = (
        subject(record),
        f"{done[:1].upper()}{done[1:]}" if good else f"Planned: {done}" * bool(done),
    )
    if done and not info.part:  # a customer is not greeted by the name of a file
        title, what = " · ".join(word for word in (what, info.steel) if word), info.profile_name
    where = f"{info.oven} · {say_minute(info.started_utc)} · run {info.run}"
    below = f"{what} · {where}" if what else where
    about = (f"run {info.run}", info.profile_name, f"short hash {v.short}")
    blocks: tuple[Block, ...] = (
        Heading(title, below, shop.words, shop.mark),
        *((Warned(" · ".join(record.marks), " ".join(record.why_marked)),) if record.marks else ()),
        Lead(said, good),
        Chart(lambda above, heat: draw(record, above, heat), lambda: svg_text(record)),
        steps(record, parts),
        Pairs("The part", _load(reader, record)),
        Pairs("Result", _result(reader, record, happened)),
        Overleaf(),
        Pairs("The heat", (*_outcome(record), *between_ovens.rows(reader, record.info))),
        Pairs(
            "Alarms, deviations, answers",
            _happened(record, record.events) + _afterwards(reader, record),
        ),
        Pairs("Sensors and corrections in force", sensors(reader, record)),
        Pairs("Stated uncertainty", uncertainty_rows(statement)),
        Paragraphs("Not measured", (f"{'; '.join(_not_measured(reader, record, statement))}.",)),
        Paragraphs(
            "What this record is",
            (SUPPORT, f"Short hash {v.short} over {v.samples} samples and {v.events} events. {CHAIN}"),
        ),
    )
    return Document(f"Heat record: {subject(record)}", blocks, " · ".join(about))


def _load(reader: Reader, record: Record) -> Rows:
    info, profile = record.info, record.profile
    rows = [("part", info.part)] if info.part else []
    rows += [("steel", info.steel)] if info.steel else []
    rows += (
        [("cladding", f"{profile.cladding}, around it")] if profile is not None and profile.cladding else []
    )
    rows += [("doubt", profile.doubt)] if profile is not None and profile.doubt else []
    known = newest(reader, PartEntry, info.part) if info.part else None
    if known is not None:
        part = known[1]
        rows += [("bar or heat number", part.bar)] if part.bar else []
        rows += [("quantity", str(part.quantity))] if part.quantity > 1 else []
        rows += [("position in the load", part.position)] if part.position else []
        rows += [("customer, order", part.customer)] if part.customer else []
    if profile is not None and profile.parts:
        rows.append(("parts together", ", ".join(profile.parts)))
    if profile is not None and profile.section_mm is not None:
        shape = "" if profile.shape == "plate" else f", {profile.shape}"
        rows.append(("thickest section", f"{say_mm(profile.section_mm)}{shape}, {profile.surface}"))
    rows += [
        ("recipe", f"{info.recipe or info.profile_name}, revision {info.revision}"),
    ]
    rows += [("heat-treated by", info.operator)] if info.operator else []
    return tuple(rows)


def _outcome(record: Record) -> Rows:
    info, header = record.info, record.header
    scale = f", run {header.time_scale:g} times as fast" if header.time_scale != 1.0 else ""
    rows = [
        ("oven", f"{info.oven}{' (simulated)' if info.simulated else ''}{scale}"),
        ("began", say_minute(info.started_utc)),
        ("outcome", how_it_ended(info, record.goes_on)),
    ]
    rows += [("cause", info.cause)] if info.cause else []
    found = record.summary.get("oven_note")
    rows += [("found on the oven", str(found))] if found else []
    if info.ended_utc:
        rows.append(("ended", say_minute(info.ended_utc)))
    curve = record.curve
    if len(curve):
        rows.append(("duration", say_duration(curve.duration_s)))
    if info.peak_c is not None:
        rows.append(("highest oven temperature", f"{info.peak_c:.1f} °C"))
    if info.energy_kwh is not None:
        rows.append(("energy to the element", f"{info.energy_kwh:.2f} kWh (on-time × rated power)"))
    rows.append(("attendance", "unattended" if info.unattended else "attended"))
    rows.append(("recorded by", f"kilnctl {header.software}".strip()))
    return tuple(rows)


def _result(reader: Reader, record: Record, happened: tuple[Happening, ...]) -> Rows:
    rows: list[tuple[str, str]] = []
    profile = record.profile
    if profile is not None and profile.goal_hrc is not None:
        rows.append(("hardness aimed at", say_goal(profile.goal_hrc).replace("-", "–")))
    predicted = record.summary.get("predicted_hrc")
    if record.info.outcome not in ("", "complete"):  # the plan's aim, which this heat has not come to
        rows.append(("hardness predicted", "not predicted: the heat did not finish"))
    elif isinstance(predicted, list | tuple) and len(predicted) == 2:
        rows.append(("hardness predicted", "{:.0f}–{:.0f} HRC, good to about 2 HRC".format(*predicted)))
    quenched = as_quenched(record)
    rows += [("hardness as quenched", quenched)] if quenched else []
    tests = _tests(reader, record)
    rows += [("hardness measured", f"{_whose(record, test)}{test.words} ({test.method})") for test in tests]
    rows += [("hardness measured", "not yet")] if not tests else []
    rows += [("warp", f"{w.bow_mm:g} mm to the {w.side}") for w in read(reader, Warp, run=record.info.run)]
    rows += _counts_as(record)
    rows += [(found.word, found.text) for found in happened]
    named = {"C = 20", "predicted_hrc", "cooled", "cooled outside", "warning"}
    rows += [
        (name.replace("_", " "), str(value))
        for name, value in record.summary.get("treatment", {}).items()
        if isinstance(value, str) and name not in named
    ]
    return tuple(rows)


def _counts_as(record: Record) -> list[tuple[str, str]]:
    """Return a temper as time at its goal: slow heating and cooling count too (two common constants)."""
    found = {last for name in ("dose20_s", "dose_c_s") if (last := _last(record, name))}
    if not found or record.profile is None:
        return []
    goals = {s.at_c for s in record.profile.segments if isinstance(s, Soak) and "temper" in s.purpose}
    said = " to ".join(dict.fromkeys(say_duration(last) for last in sorted(found)))
    lowered = any(isinstance(s, Soak) and s.sensor_c is not None for s in record.profile.segments)
    by = " by the sensor, which was held lower; a part in sight of the elements got more" if lowered else ""
    return [("the temper counts as", f"{said} at {max(goals):.0f} °C{by}")] if goals else []


def hardness_words(reader: Reader, record: Record) -> str:
    """Return how hard a part is in a few words: as measured, as quenched, as aimed at, else nothing."""
    tests, profile = _tests(reader, record), record.profile
    brittle = "NOT TEMPERED: brittle, it can crack on its own" if as_quenched(record) else ""
    if tests:
        measured = f"Hardness: {_whose(record, tests[-1])}{tests[-1].words}"
        return f"{brittle}. {measured}" if brittle else measured
    if brittle:
        return brittle
    if profile is None or profile.goal_hrc is None or record.info.outcome != "complete":
        return ""
    return f"Hardness aimed at {say_goal(profile.goal_hrc)}, not measured".replace("-", "–")


def _tests(reader: Reader, record: Record) -> list[Hardness]:
    of_run = read(reader, Hardness, run=record.info.run)
    if of_run or not record.info.part:
        return of_run
    later = [
        test
        for row, test in in_force(reader, Hardness, record.info.part)
        if test.run is None and row.utc_s >= record.info.started_utc
    ]
    return later[-1:]


def _whose(record: Record, test: Hardness) -> str:
    """Return the part of a test, where the heat had more than one."""
    return f"{test.part}: " if record.profile is not None and len(record.profile.parts) > 1 else ""


def _last(record: Record, column: str) -> float | None:
    values = record.curve.column(column)
    known = values[~np.isnan(values)]
    return float(known[-1]) if len(known) else None


def _happened(record: Record, events: Iterable[Event], most: int = MOST_EVENTS) -> Rows:
    say = clock_of(record)
    told = [e for e in events if e.kind in TOLD or e.kind.startswith("heat not")]
    ends = sum(e.kind in ENDS for e in told)
    room, rows = max(0, most - ends), []
    for e in told:
        if e.kind in ENDS or room > 0:
            rows.append((f"{say(_since_s(e))} {e.kind}", _told(e)))
            room -= e.kind not in ENDS
    if more := len(told) - len(rows):
        rows.append(("", f"and {more} more: the JSON export has all of them"))
    return tuple(rows) or (("", "none"),)


def _afterwards(reader: Reader, record: Record) -> Rows:
    """Return what was found or last noted of the run after its end; tests stand with the treatment."""
    changes = read(reader, LatchChange, run=record.info.run)
    found = tuple((c.change, c.reason) for c in changes if c.change.endswith("after the end"))
    noted = read(reader, Note, run=record.info.run)
    more = ((("", f"and {len(noted) - 5} earlier notes")),) if len(noted) > 5 else ()
    return (*found, *more, *(("after the end", note.text) for note in noted[-5:]))


def _since_s(event: Event) -> float:
    """Return when it happened: that an alarm is over is known only some time after."""
    return float(event.data.get("over_s", event.at_s))


def _told(event: Event) -> str:
    if event.kind == "alarm over":
        what = event.text.partition(";")[0]
        return f"{what}; the alarm stood for {say_duration(float(event.data.get('lasted_s', 0.0)))}"
    reason = event.data.get("reason") or event.data.get("note") or ""
    data = event.data
    said = [str(data[name]) for name in ("what", "reply") if name in data]
    said += [f"by {say_duration(data['by_s'])}"] if isinstance(data.get("by_s"), int | float) else []
    said += [f"to {data['to_c']:.0f} °C"] if isinstance(data.get("to_c"), int | float) else []
    said += [stamp_words(data)] if "mark" in data else []
    said += [str(data["text"])] if data.get("mark") == "result" else []
    changed = " ".join(said)
    return "; ".join(word for word in (event.text, changed, str(reason)) if word)


def _not_measured(reader: Reader, record: Record, statement: Statement | None) -> tuple[str, ...]:
    has = {name for name, c in record.curve.columns().items() if len(c) and not np.isnan(c).all()}
    found = [] if "load_c" in has else ["temperature of the part (the curve shows an estimate)"]
    found += [] if "second_c" in has else ["a second sensor"]
    found += ["supply voltage and heater current", "atmosphere and scale", "cooling outside the oven"]
    found += [] if _tests(reader, record) else ["hardness"]
    found += list(statement.missing) if statement is not None else ["uncertainty of the temperature"]
    found += [_in_a_list(_plain(event.text)) for event in record.events if event.kind == "not checked"]
    return tuple(found)


def _in_a_list(text: str) -> str:
    """Return a sentence as one of a list: it begins small, unless with a name in capitals."""
    return text if text[1:2].isupper() else text[:1].lower() + text[1:]


def _plain(text: str) -> str:
    """Return a finding without the command that would change it: a customer has no shell."""
    return re.sub(r"\s*\([^()]*`kilnctl[^()]*\)", "", text).rstrip(".")
