"""The commands about the record. Here: runs and compare; the others lie beside and are named here."""

import json
from dataclasses import asdict
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from kilnctl.cli.record.export import OutFile, export, import_
from kilnctl.cli.record.open_logbook import COMPLETE, opened
from kilnctl.cli.record.verify import verify
from kilnctl.cli.terminal.options import Flag, Json, refuse_unused
from kilnctl.clock import RealClock, say_minute
from kilnctl.errors import ConfigError
from kilnctl.stages import in_words
from kilnctl.units import say_duration

if TYPE_CHECKING:
    from kilnctl.logbook.readers import Reader, RunInfo

# A run whose newest sample is younger than this is going on, not broken off (real seconds).
FRESH_S = 15.0


def runs(
    *,
    oven: str | None = None,
    steel: str | None = None,
    part: str | None = None,
    outcome: str | None = None,
    since: str | None = None,
    until: str | None = None,
    text: str | None = None,
    limit: int | None = None,
    due: Flag = False,
    json_: Json = False,
) -> int:
    """List the runs of the logbook, newest first.

    Parameters
    ----------
    oven:
        Only this oven.
    steel:
        Only this steel.
    part:
        Only this part.
    outcome:
        Complete, tripped, stopped, "ended early", or incomplete for runs without an end.
    since:
        From this day on ("2026-11-03").
    until:
        Up to and including this day.
    text:
        Only runs in whose names, causes or events this occurs.
    limit:
        At most so many.
    due:
        Show instead what is due: set-up steps, calibrations, reminders.
    json_:
        Print JSON.
    """
    if due:
        given = {"steel": steel, "part": part, "outcome": outcome, "since": since, "until": until}
        refuse_unused("what is due belongs to no run", **given, text=text, limit=limit)
        return _show_due(oven, json_)
    with opened() as reader:
        found = reader.runs(
            oven=oven,
            steel=steel,
            part=part,
            outcome=None if outcome is None else outcome.replace(" ", "_"),
            since_utc=_day(since, 0),
            until_utc=_day(until, 1),
            text=text,
            limit=limit,
        )
        if json_:
            print(json.dumps({"runs": [_plain(info) for info in found]}, ensure_ascii=False))
            return COMPLETE
        for info in found:
            print(_line(reader, info))
        if not found:
            print("no such run" if any((oven, steel, part, outcome, since, until, text)) else "no runs yet")
    return COMPLETE


def _show_due(oven: str | None, as_json: bool) -> int:
    from kilnctl.care.due import everything_due

    with opened() as reader:
        found = everything_due(reader, RealClock().utc().timestamp(), oven)
    if as_json:
        print(json.dumps({"due": [asdict(d) for d in found]}, ensure_ascii=False))
        return COMPLETE
    for d in found:
        print(f"{'OVERDUE' if d.overdue else 'soon':<8} {d.of}: {d.words}")
    if not found:
        print("nothing is due in the next two weeks")
    return COMPLETE


def _day(text: str | None, later_days: int) -> float | None:
    if text is None:
        return None
    try:
        day = datetime.fromisoformat(text).astimezone()
    except ValueError:
        raise ConfigError(f'cannot read "{text}" as a day; write it like "2026-11-03"') from None
    return (day + timedelta(days=later_days)).timestamp()


def _plain(info: "RunInfo") -> dict[str, object]:
    data = {k: v for k, v in asdict(info).items() if k != "seal"}
    return data | {"complete": info.complete, "why_incomplete": info.why_incomplete, "hash": info.short}


def _line(reader: "Reader", info: "RunInfo") -> str:
    started = say_minute(info.started_utc)
    took = say_duration(info.duration_s) if info.duration_s else ""
    marks = " SIMULATED" if info.simulated else ""
    marks += "" if info.complete else f" INCOMPLETE ({info.why_incomplete})"
    outcome = in_words(info.outcome) or "no end"
    if not info.outcome and _fresh(reader, info):
        outcome, marks = "running", marks.replace(f" INCOMPLETE ({info.why_incomplete})", "")
    what = " ".join(word for word in (info.profile_name, info.steel, info.part) if word)
    return f"{info.run:>5}  {started}  {info.oven:<18} {outcome:<12} {took:>9}  {what}{marks}"


def _fresh(reader: "Reader", info: "RunInfo") -> bool:
    newest = reader.newest(info.run)
    return newest is not None and RealClock().utc().timestamp() - newest.utc_s < FRESH_S


def compare(*run: int, out: OutFile | None = None, json_: Json = False) -> int:
    """Set two or more runs side by side, aligned at the starts of their segments.

    Parameters
    ----------
    run:
        The numbers of the runs; the others are compared with the first.
    out:
        Also write an overlay chart: png, svg or pdf.
    json_:
        Print JSON.
    """
    if len(run) < 2:
        raise ConfigError("say at least two runs, like: kilnctl compare 12 15")
    from kilnctl.report import compare as beside
    from kilnctl.report.record import load_record

    with opened() as reader:
        records = tuple(load_record(reader, number) for number in run)
    if json_:
        told = {"first": run[0], "less": [asdict(d) for d in beside.compare(records)]}
        print(json.dumps(told, ensure_ascii=False))
    else:
        print("\n".join(beside.lines(records)))
    if out is not None:
        kind = out.suffix.lstrip(".").lower()
        if kind not in ("png", "svg", "pdf"):
            raise ConfigError(f"{out}: an overlay is written as png, svg or pdf")
        try:
            beside.write_overlay(records, out, kind)
        except OSError as e:
            raise ConfigError(f"{out}: cannot be written: {e.strerror}") from None
    return COMPLETE


__all__ = ["compare", "export", "import_", "runs", "verify"]
