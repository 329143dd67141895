"""The commands about the record. Here: runs and compare; the others lie beside and are named here."""

import json
import textwrap
from dataclasses import asdict
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from kilnctl.cli.record.export import OutFile, export, import_
from kilnctl.cli.record.open_logbook import COMPLETE, opened
from kilnctl.cli.record.verify import verify
from kilnctl.cli.terminal.options import PRINTED, Flag, Json, refuse_unused
from kilnctl.cli.terminal.tell import tell_boxes
from kilnctl.clock import RealClock, say_minute
from kilnctl.errors import ConfigError
from kilnctl.units import say_duration

if TYPE_CHECKING:
    from kilnctl.logbook.readers import Reader, RunInfo
    from kilnctl.report.record import Record

WIDE = 80


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
    out: OutFile | None = None,
    json_: Json = False,
) -> int:
    """List the runs of the logbook, newest first; or write them as a page: a month, a steel, a part.

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
    out:
        Write the list as a page with its sums (html, pdf) in place of printing it.
    json_:
        Print JSON.
    """
    if due:
        given = {"steel": steel, "part": part, "outcome": outcome, "since": since, "until": until}
        refuse_unused("--due lists what is due, not runs", **given, text=text, limit=limit, out=out)
        return _show_due(oven, json_)
    from kilnctl.care.going_on import runs_going_on

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
        now = runs_going_on(reader, RealClock().utc_s())
        if json_:
            refuse_unused(PRINTED, out=out)
            print(json.dumps({"runs": [_plain(info, info.run in now) for info in found]}, ensure_ascii=False))
            return COMPLETE
        if out is not None:
            _write_heats(reader, found, _title(since, until, steel, oven, part), out)
            return COMPLETE
        for info in found:
            print("\n".join(lines_of(info, info.run in now)))
        if not found:
            print("no such run" if any((oven, steel, part, outcome, since, until, text)) else "no runs yet")
    return COMPLETE


def _title(since: str | None, until: str | None, *of: str | None) -> str:
    """Return what the page of a list of runs is called."""
    when = f" from {since}" if since else ""
    when += f" to {until}" if until else ""
    return " · ".join([f"Heats{when}", *(word for word in of if word)])


def _write_heats(reader: "Reader", runs: "list[RunInfo]", title: str, out: Path) -> None:
    from kilnctl.report.heats_page import heats_page
    from kilnctl.report.layout.page_file import write_page
    from kilnctl.report.workshop import workshop

    tell_boxes(out, write_page(heats_page(reader, runs, title, workshop(), RealClock().utc_s()), out))
    print(f"{out}: {len(runs)} heats")


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


def _plain(info: "RunInfo", going_on: bool) -> dict[str, object]:
    from kilnctl.care.going_on import what_is_missing

    data = {k: v for k, v in asdict(info).items() if k != "seal"}
    data |= {"running": going_on, "complete": info.complete, "hash": info.short}
    return data | {"why_incomplete": what_is_missing(info, going_on)}


def lines_of(info: "RunInfo", going_on: bool) -> list[str]:
    """Return a run as a line of at most 80 characters; what does not fit follows below it, indented."""
    from kilnctl.care.going_on import how_it_ended, what_is_missing

    took = say_duration(info.duration_s) if info.duration_s else ""
    missing = what_is_missing(info, going_on)
    words = [", ".join(word for word in (info.part or info.profile_name, info.steel) if word), info.oven]
    words += ["SIMULATED"] if info.simulated else []
    words += [f"INCOMPLETE ({missing})"] if missing else []
    lines = [f"{info.run:>4} {say_minute(info.started_utc)} {how_it_ended(info, going_on):<11} {took:>10}"]
    for word in words:
        if len(lines[-1]) + 2 + len(word) <= WIDE:
            lines[-1] += f"  {word}"
        else:
            lines += textwrap.wrap(word, WIDE, initial_indent=" " * 7, subsequent_indent=" " * 7)
    return lines


def compare(*run: int, out: OutFile | None = None, json_: Json = False) -> int:
    """Set two or more runs side by side, aligned at the starts of their steps.

    Parameters
    ----------
    run:
        The numbers of the runs; the others are compared with the first.
    out:
        Also write it: as a page (html, pdf) or as a chart with a panel for each step (png, svg).
    json_:
        Print JSON.
    """
    if len(run) < 2:
        raise ConfigError("give at least two runs, like: kilnctl compare 12 15")
    from kilnctl.report.record import load_record

    with opened() as reader:
        records = tuple(load_record(reader, number, RealClock().utc_s()) for number in run)
    if json_:
        from kilnctl.report.compare import compare as differences

        print(
            json.dumps(
                {"first": run[0], "less": [asdict(d) for d in differences(records)]}, ensure_ascii=False
            )
        )
    else:
        from kilnctl.report.compare_page import compare_page
        from kilnctl.report.layout.text_page import print_document
        from kilnctl.report.workshop import workshop

        print_document(compare_page(records, workshop()))
    if out is not None:
        _write_compared(records, out)
    return COMPLETE


def _write_compared(records: "tuple[Record, ...]", out: Path) -> None:
    """Write runs side by side: html and pdf as a page, png and svg as a chart with a panel a step."""
    kind = out.suffix.lstrip(".").lower()
    if kind in ("html", "pdf"):
        from kilnctl.report.compare_page import compare_page
        from kilnctl.report.layout.page_file import write_page
        from kilnctl.report.workshop import workshop

        tell_boxes(out, write_page(compare_page(records, workshop()), out))
        return
    if kind not in ("png", "svg"):
        raise ConfigError(f"{out}: runs side by side are written as html, pdf, png or svg")
    from kilnctl.report.charts.compare_chart import write_overlay

    try:
        write_overlay(records, out, kind)
    except OSError as e:
        raise ConfigError(f"{out}: cannot be written: {e.strerror}") from None


__all__ = ["compare", "export", "import_", "runs", "verify"]
