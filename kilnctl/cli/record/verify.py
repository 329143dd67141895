"""Is a record whole and unchanged: verify."""

import json
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from kilnctl.cli.record.open_logbook import COMPLETE, NOT_WHOLE, opened
from kilnctl.cli.terminal.options import Json, refuse_unused
from kilnctl.cli.terminal.progress import progress
from kilnctl.cli.terminal.whole_words import whole_words
from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.errors import ConfigError

if TYPE_CHECKING:
    from kilnctl.logbook.readers import Reader
    from kilnctl.logbook.verification import Verification


def verify(
    what: str | None = None,
    /,
    *,
    hash_: Annotated[str | None, Parameter(name="--hash")] = None,
    json_: Json = False,
) -> int:
    """Check that a record is complete and unchanged.

    Parameters
    ----------
    what:
        The number of a run, an exported file (csv or json), a short hash from a printed page, or nothing
        for the whole logbook.
    hash_:
        The short hash on a printed page, to be compared with the run.
    json_:
        Print JSON.
    """
    if what is None:
        refuse_unused("say which record to compare, like: kilnctl verify 12", hash=hash_)
        return _verify_all(json_)
    findings, whole, told, said = _checked(what)
    if hash_ is not None:
        same = _plain_hash(hash_) == _plain_hash(str(told.get("hash", "")))
        whole = whole and same
        findings = (*findings, *(() if same else (f"the hash {hash_} does not belong to this record",)))
        said = f"{said}; the printed hash matches" if same else said
    if json_:
        print(json.dumps({**told, "findings": list(findings), "complete": whole}, ensure_ascii=False))
    else:
        print(whole_words("\n".join((*findings, *([said] if said else []))), sys.stdout))
    return COMPLETE if whole else NOT_WHOLE


Checked = tuple[tuple[str, ...], bool, dict[str, object], str]
NOT_WHOLE_MARKS = ("STILL RUNNING", "INCOMPLETE", "CHANGED")
_SHORT = re.compile(r"[0-9a-f]{4}(-?[0-9a-f]{4}){3}", re.IGNORECASE)


def _plain_hash(text: str) -> str:
    return text.replace("-", "").strip().lower()


def _checked(what: str) -> Checked:
    path, runs = Path(what), False
    if path.suffix.lower() == ".csv":
        return _checked_csv(path)
    if path.suffix.lower() == ".json":
        from kilnctl.report.json_export import check_json

        verdict = check_json(path)
    elif what.isdigit() and len(what) < 16:
        with opened() as reader:
            verdict = reader.verify(int(what))
            runs = not verdict.ended and int(what) in _still_running(reader)
    elif _SHORT.fullmatch(what):
        with opened() as reader:
            verdict = _by_hash(reader, what)
    else:
        raise ConfigError(f'"{what}" is neither a run, nor an exported csv or json file, nor a short hash')
    told: dict[str, object] = {
        "run": verdict.run,
        "rows": list(verdict.rows),
        "chain": verdict.chain_holds,
        "samples": verdict.samples,
        "gaps": verdict.gaps,
        "hash": verdict.short,
        "running": runs,
    }
    return verdict.findings, verdict.complete, told, _in_words(verdict, runs)


def _checked_csv(path: Path) -> Checked:
    """Check a table against its own checks, and against the logbook where that has the run."""
    from kilnctl.report.csv_export import against_logbook, check_csv

    findings, short, marks = check_csv(path)
    said = "every row matches its check"
    if home.logbook_path().is_file():
        with opened() as reader:
            beside = against_logbook(path, reader, short) if not findings else None
        if beside is not None:
            findings, said = beside, f"{said} and the logbook"
    whole = not findings and not any(mark in marks for mark in NOT_WHOLE_MARKS)
    shown = "" if findings else " ".join((said, *([f"; marked {marks}"] if marks else [])))
    return findings, whole, {"chain": not findings, "hash": short, "marks": marks}, shown


def _by_hash(reader: "Reader", short: str) -> "Verification":
    wanted = _plain_hash(short)
    for info in reader.runs():
        if _plain_hash(info.short) == wanted:
            return reader.verify(info.run)
    raise ConfigError(
        f"no run here has the hash {short}: the page is from another logbook, or the record was changed"
    )


def _verify_all(as_json: bool) -> int:
    with opened() as reader, progress("checking the logbook") as told:
        found, now = reader.verify_all(told), _still_running(reader)
    changed = [v for v in found.verdicts if not v.chain_holds]
    running = [v.run for v in found.verdicts if v.run in now]
    incomplete = [v.run for v in found.verdicts if v.chain_holds and not v.complete and v.run not in now]
    if as_json:
        data = {"book": list(found.book), "changed": [v.run for v in changed], "incomplete": incomplete}
        data |= {"running": running}
        print(json.dumps({**data, "runs": len(found.verdicts), "chain": found.whole}, ensure_ascii=False))
    else:
        lines = [*found.book, *(f"run {v.run}: {finding}" for v in changed for finding in v.findings)]
        lines += [f"still running: run {', '.join(map(str, running))}"] if running else []
        lines += [f"incomplete, but unchanged: run {', '.join(map(str, incomplete))}"] if incomplete else []
        lines.append(f"{len(found.verdicts)} runs: {'unchanged' if found.whole else 'CHANGED'}")
        print(whole_words("\n".join(lines), sys.stdout))
    return COMPLETE if found.whole else NOT_WHOLE


def _still_running(reader: "Reader") -> frozenset[int]:
    from kilnctl.care.going_on import runs_going_on

    return runs_going_on(reader, RealClock().utc_s())


def _in_words(verdict: "Verification", runs: bool) -> str:
    parts = [f"{verdict.samples} samples and {verdict.events} events"]
    parts.append("unchanged" if verdict.chain_holds else "CHANGED")
    if runs:
        parts.append("STILL RUNNING: its end is still to come")
    elif not verdict.ended:
        parts.append("INCOMPLETE: no end was recorded")
    if verdict.gaps:
        parts.append(f"INCOMPLETE: {verdict.gaps} gaps")
    if verdict.lost:
        parts.append(f"INCOMPLETE: {verdict.lost} samples lost")
    return f"run {verdict.run}: {', '.join(parts)}; short hash {verdict.short}"
