"""Runs leave the logbook and come back: export, import."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

from kilnctl.cli.record.open_logbook import COMPLETE, opened
from kilnctl.cli.terminal.options import refuse_unused
from kilnctl.cli.terminal.progress import progress
from kilnctl.cli.terminal.tell import tell_boxes
from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.errors import ConfigError, RecordError

if TYPE_CHECKING:
    from kilnctl.logbook.readers import Reader

OutFile = Annotated[Path, Parameter(name="--out")]


def export(
    run: int | None = None,
    /,
    *,
    format_: Annotated[
        Literal["csv", "json", "html", "png", "svg", "pdf"] | None, Parameter(name="--format")
    ] = None,
    label: Annotated[Literal["62mm", "a7"] | None, Parameter(name="--label")] = None,
    out: OutFile,
    all_: Annotated[bool, Parameter(name="--all", negative="")] = False,
) -> int:
    """Write a run to a file: its record, a label for the part, or everything as a backup.

    The record as a page (html, pdf) has a front for the customer and a back that says how it was measured.
    It carries your workshop where `workshop.toml` in your kilnctl folder names it: name, line, mark (a PNG).

    Parameters
    ----------
    run:
        The number of the run.
    format_:
        csv, json, html, png, svg or pdf; left out, the ending of the file says it.
    label:
        Write a label for the part in place of the record: on 62 mm paper, or on a sheet of A7 (pdf or png).
    out:
        The file to write.
    all_:
        Everything: logbook (with learned ovens), oven files, recipes and steel cards in one zip file, which
        `kilnctl import` restores. Message addresses are left out: they hold keys.
    """
    if all_ == (run is not None):
        raise ConfigError("give either the number of a run or --all")
    if run is None:
        refuse_unused("a backup has one format", format=format_, label=label)
        from kilnctl.cli.record.whole_home import pack

        with progress("copying the logbook") as told:
            files = pack(out, told)
        print(f"{out}: the whole logbook; ovens, recipes and steel cards: {files}")
        return COMPLETE
    kind = format_ or out.suffix.lstrip(".").lower()
    with opened() as reader, progress(f"writing run {run}") as told:
        if label is not None:
            write_label_of(reader, run, label, kind, out)
        else:
            write_run(reader, run, kind, out, told)
    print(f"{out}: run {run}")
    return COMPLETE


def write_run(
    reader: "Reader", run: int, kind: str, out: Path, told: Callable[[float], object] = lambda _: None
) -> None:
    """Write one run in one format. Raises ConfigError for an unknown format or an unwritable file."""
    from kilnctl.report.record import load_record

    record = load_record(reader, run, RealClock().utc_s())
    try:
        match kind:
            case "csv":
                from kilnctl.report.csv_export import write_csv

                write_csv(record, out, told)
            case "json":
                from kilnctl.logbook.restore import archive_run
                from kilnctl.report.json_export import write_json

                write_json(record, archive_run(reader, run), out)
            case "png" | "svg":
                from kilnctl.report.charts.chart import write_chart

                write_chart(record, out, kind)
            case "html" | "pdf":
                from kilnctl.report.layout.page_file import write_page
                from kilnctl.report.record_page import record_page
                from kilnctl.report.workshop import workshop

                tell_boxes(out, write_page(record_page(reader, record, workshop()), out, kind))
            case _:
                raise ConfigError(f'"{kind}" is not a format; there is csv, json, html, png, svg, pdf')
    except OSError as e:
        raise ConfigError(f"{out}: cannot be written: {e.strerror}") from None


def write_label_of(reader: "Reader", run: int, stock: str, kind: str, out: Path) -> None:
    """Write the label of a run. Raises ConfigError for another format or an unwritable file."""
    from kilnctl.report.label import STOCKS, Said, write_label
    from kilnctl.report.record import load_record
    from kilnctl.report.record_page import hardness_words
    from kilnctl.report.what_happened import amiss, what_happened
    from kilnctl.report.workshop import workshop

    if kind not in ("pdf", "png"):
        raise ConfigError(f"{out}: a label is written as pdf or png")
    record = load_record(reader, run, RealClock().utc_s())
    about = Said(hardness_words(reader, record), amiss(what_happened(reader, record)))
    try:
        tell_boxes(out, write_label(record, about, workshop(), STOCKS[stock], out, kind))
    except OSError as e:
        raise ConfigError(f"{out}: cannot be written: {e.strerror}") from None


def import_(file: Path, /) -> int:
    """Read an exported run (json), a backup of everything, or a copy of a logbook. Nothing is overwritten.

    Parameters
    ----------
    file:
        A file written by `kilnctl export`.
    """
    from kilnctl.cli.record.whole_home import kind_of, unpack
    from kilnctl.logbook.writer import Logbook

    if file.suffix.lower() == ".csv":
        raise ConfigError(f"{file}: a table has no profile, events or end; import the json export of the run")
    kind = kind_of(file)
    if kind == "folder":
        with progress("restoring") as told:
            done = unpack(file, told)
        print("\n".join(f"{file}: {line}" for line in done))
        return COMPLETE
    with Logbook(home.logbook_path()) as book:
        if kind == "run":
            from kilnctl.logbook.restore import restore_run
            from kilnctl.report.json_export import read_json

            print(f"{file}: now run {restore_run(book, read_json(file))}")
            return COMPLETE
        from kilnctl.logbook.backup import restore

        with progress("restoring") as told:
            try:
                runs_added, entries_added = restore(book, file, told)
            except RecordError as e:
                raise ConfigError(f"{file.name}: {e}") from None
    print(f"{file}: new here and restored: runs {runs_added}, entries {entries_added}")
    return COMPLETE
