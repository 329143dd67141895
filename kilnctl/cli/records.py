"""The commands about the record: runs, part, compare, export, import, verify."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

from kilnctl.config import home
from kilnctl.errors import ConfigError
from kilnctl.units import say_duration

if TYPE_CHECKING:
    from kilnctl.logbook.readers import Reader, RunInfo
    from kilnctl.logbook.verdict import Verdict

COMPLETE, NOT_WHOLE = 0, 6
# A run whose newest sample is younger than this is going on, not broken off (real seconds).
FRESH_S = 15.0
Json = Annotated[bool, Parameter(name="--json")]
OutFile = Annotated[Path, Parameter(name="--out")]


@contextmanager
def opened() -> "Iterator[Reader]":
    """Open the user's logbook for reading; a word on stderr where a newer program wrote it."""
    from kilnctl.logbook.readers import Reader

    with Reader(home.logbook_path()) as reader:
        if reader.newer:
            note("the logbook was written by a newer kilnctl: reading only")
        yield reader


def note(text: str) -> None:
    """Say something beside the result, on stderr."""
    import sys

    print(text, file=sys.stderr)


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
    json_: Json = False,
) -> int:
    """List the runs of the logbook, newest first.

    Parameters
    ----------
    oven: only this oven
    steel: only this steel
    part: only this part
    outcome: complete, tripped, stopped, refused, ended_early, or incomplete for runs without an end
    since: from this day on ("2026-11-03")
    until: up to and including this day
    text: only runs in whose names, causes or events this occurs
    limit: at most so many
    json_: print JSON
    """
    with opened() as reader:
        found = reader.runs(
            oven=oven,
            steel=steel,
            part=part,
            outcome=outcome,
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
    started = datetime.fromtimestamp(info.started_utc).astimezone().strftime("%Y-%m-%d %H:%M")
    took = say_duration(info.duration_s) if info.duration_s else ""
    marks = " SIMULATED" if info.simulated else ""
    marks += "" if info.complete else f" INCOMPLETE ({info.why_incomplete})"
    outcome = info.outcome or "no end"
    if not info.outcome and _fresh(reader, info):
        outcome, marks = "running", marks.replace(f" INCOMPLETE ({info.why_incomplete})", "")
    what = " ".join(word for word in (info.profile_name, info.steel, info.part) if word)
    return f"{info.run:>5}  {started}  {info.oven:<18} {outcome:<12} {took:>9}  {what}{marks}"


def _fresh(reader: "Reader", info: "RunInfo") -> bool:
    newest = reader.newest(info.run)
    return newest is not None and datetime.now(UTC).timestamp() - newest.utc_s < FRESH_S


def export(
    run: int,
    /,
    *,
    format_: Annotated[
        Literal["csv", "json", "html", "png", "svg", "pdf"] | None, Parameter(name="--format")
    ] = None,
    out: OutFile,
) -> int:
    """Write a run to a file.

    Parameters
    ----------
    run: the number of the run
    format_: csv, json, html, png, svg or pdf; from the ending of the file where it is left out
    out: the file to write
    """
    kind = format_ or out.suffix.lstrip(".").lower()
    with opened() as reader:
        write_run(reader, run, kind, out)
    print(f"{out}: run {run}")
    return COMPLETE


def write_run(reader: "Reader", run: int, kind: str, out: Path) -> None:
    """Write one run in one format. Raises ConfigError for an unknown format or an unwritable file."""
    from kilnctl.report.record import load_record

    record = load_record(reader, run)
    try:
        match kind:
            case "csv":
                from kilnctl.report.table import write_csv

                write_csv(record, out)
            case "json":
                from kilnctl.logbook.restore import archive_run
                from kilnctl.report.whole import write_json

                write_json(record, archive_run(reader, run), out)
            case "png" | "svg":
                from kilnctl.report.chart import write_chart

                write_chart(record, out, kind)
            case "html":
                from kilnctl.report.facts import facts
                from kilnctl.report.page import write_page

                write_page(record, facts(reader, record), out)
            case "pdf":
                from kilnctl.report.facts import facts
                from kilnctl.report.paper import write_paper

                write_paper(record, facts(reader, record), out)
            case _:
                raise ConfigError(f'"{kind}" is no format; there is csv, json, html, png, svg, pdf')
    except OSError as e:
        raise ConfigError(f"{out}: cannot be written: {e.strerror}") from None


def import_(file: Path, /) -> int:
    """Read an exported run (json) into the logbook.

    Parameters
    ----------
    file: a file written by `kilnctl export`
    """
    from kilnctl.logbook.book import Logbook
    from kilnctl.logbook.restore import restore_run
    from kilnctl.report.whole import read_json

    archive = read_json(file)
    with Logbook(home.logbook_path()) as book:
        print(f"{file}: now run {restore_run(book, archive)}")
    return COMPLETE


def verify(what: str, /, *, json_: Json = False) -> int:
    """Check that a record is whole and unchanged.

    Parameters
    ----------
    what: the number of a run, or an exported file (csv or json)
    json_: print JSON
    """
    verdict = _verdict(what)
    if isinstance(verdict, tuple):
        findings, whole = verdict, not verdict
        told = {"findings": list(findings), "chain": whole}
        said = "" if findings else "every row fits its check"
    else:
        findings, whole = verdict.findings, verdict.complete
        told = {
            "run": verdict.run,
            "findings": list(findings),
            "rows": list(verdict.rows),
            "chain": verdict.chain_holds,
            "complete": whole,
            "samples": verdict.samples,
            "gaps": verdict.gaps,
            "hash": verdict.short,
        }
        said = _said(verdict)
    print(
        json.dumps(told, ensure_ascii=False) if json_ else "\n".join((*findings, *([said] if said else [])))
    )
    return COMPLETE if whole else NOT_WHOLE


def _verdict(what: str) -> "Verdict | tuple[str, ...]":
    if what.isdigit():
        with opened() as reader:
            return reader.verify(int(what))
    path = Path(what)
    if path.suffix.lower() == ".csv":
        from kilnctl.report.table import check_csv

        return check_csv(path)
    if path.suffix.lower() == ".json":
        from kilnctl.report.whole import check_json

        return check_json(path)
    raise ConfigError(f'"{what}" is neither the number of a run nor an exported csv or json file')


def _said(verdict: "Verdict") -> str:
    parts = [f"{verdict.samples} samples and {verdict.events} events"]
    parts.append("unchanged" if verdict.chain_holds else "CHANGED")
    if not verdict.ended:
        parts.append("INCOMPLETE: no end was recorded")
    if verdict.gaps:
        parts.append(f"INCOMPLETE: {verdict.gaps} gaps")
    if verdict.lost:
        parts.append(f"INCOMPLETE: {verdict.lost} samples lost")
    return f"run {verdict.run}: {', '.join(parts)}; short hash {verdict.short}"
