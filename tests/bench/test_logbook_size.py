"""A logbook with a thousand heats of six hours: how long finding, opening, exporting and checking take.

On demand; makes about 800 MB in the temporary folder, takes minutes. Prints measured numbers beside the
asked ones and asserts none of the times.
"""

import os
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from heats import START_UTC, events, header, samples

from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.report.csv_export import write_csv
from kilnctl.report.record import load_record

RUNS, HEAT_S, MINUTE = 1000, 6 * 3600, 60
STEELS = ("O1", "5160", "1095", "80CrV2")


def _make(path: Path, runs: int) -> None:
    made = samples(HEAT_S)
    minutes = [made[i : i + MINUTE] for i in range(0, HEAT_S, MINUTE)]
    with Logbook(path) as book:
        book.connection.execute("PRAGMA synchronous = OFF")  # only for making the bench's file
        for number in range(runs):
            run = book.start_run(
                header(
                    started_utc=START_UTC + 86_400.0 * number, steel=STEELS[number % 4], part=f"part {number}"
                )
            )
            for place, minute in enumerate(minutes):
                book.append(run, minute, events(1) if place % 20 == 0 else [])
            book.finish(run, "complete", {"cause": "", "peak_c": 219.1}, START_UTC)


def _took_s(what: Callable[[], object]) -> float:
    start_s = time.perf_counter()
    what()
    return time.perf_counter() - start_s


def _appends_ms(paths: tuple[Path, Path], count: int = 300) -> tuple[float, float]:
    """Return the middle times of durable one-sample appends to two files in turn, in ms."""
    took: tuple[list[float], list[float]] = ([], [])
    with Logbook(paths[0]) as one, Logbook(paths[1]) as other:
        runs = [
            (book, book.start_run(header()), times) for book, times in zip((one, other), took, strict=True)
        ]
        for sample in samples(count):
            for book, run, times in runs:
                times.append(_took_s(lambda b=book, r=run, s=sample: b.append(r, [s], [])))  # type: ignore[misc]
    return sorted(took[0])[count // 2] * 1000.0, sorted(took[1])[count // 2] * 1000.0


@pytest.mark.on_demand
def test_a_thousand_heats(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "logbook.sqlite"
    made_s = _took_s(lambda: _make(path, RUNS))
    count = RUNS * HEAT_S
    bytes_each = path.stat().st_size / count
    with Reader(path) as reader:
        rows = [
            ("list all runs", _took_s(reader.runs), 0.3),
            ("filter by steel, part and date", _took_s(_filter(reader)), 0.3),
            ("filter by a word in events", _took_s(lambda: reader.runs(text="word 7")), 0.3),
            ("open one run's curve", _took_s(lambda: reader.samples(RUNS // 2)), 0.5),
            ("export one run as csv", _took_s(lambda: _export(reader, tmp_path / "one.csv")), 2.0),
            ("verify one run", _took_s(lambda: reader.verify(RUNS // 2)), 1.0),
        ]
        assert len(reader.runs()) == RUNS
        assert reader.verify(RUNS // 2).complete
        assert len(reader.curve(RUNS)) == HEAT_S
    os.sync()  # the bench's own unsynced pages are not the append's cost
    empty_ms, full_ms = _appends_ms((tmp_path / "empty.sqlite", path))
    with capsys.disabled():
        print(f"\n{RUNS} runs, {count / 1e6:.1f} million samples, made in {made_s:.0f} s")
        for name, took_s, asked_s in rows:
            print(f"  {name:<34}{took_s:8.3f} s   asked {asked_s:g} s")
        print(f"  {'bytes per sample':<34}{bytes_each:8.1f}     asked 40")
        print(f"  {'durable append, empty file':<34}{empty_ms:8.2f} ms")
        print(f"  {'durable append, this file':<34}{full_ms:8.2f} ms  asked: the same")


def _filter(reader: Reader) -> Callable[[], object]:
    return lambda: reader.runs(steel="O1", part="part 500", since_utc=START_UTC, until_utc=START_UTC + 9e7)


def _export(reader: Reader, out: Path) -> None:
    write_csv(load_record(reader, RUNS // 2), out)
