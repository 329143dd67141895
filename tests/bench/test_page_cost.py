"""What pages and keys cost, beside what was asked: a record's PDF, the page of a month, a key at load.

Printed, not asserted: a busy machine is no fault of the program. Run with
`pytest -m on_demand -s tests/bench/test_page_cost.py`.
"""

import multiprocessing
import os
import resource
import statistics
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from dashboard.feed import Wire, heating, text_of
from heats import START_UTC, a_book, header, samples

from kilnctl.clock import VirtualClock
from kilnctl.dashboard.app import WatchApp
from kilnctl.logbook.readers import Reader
from kilnctl.report.heats_page import heats_page
from kilnctl.report.layout.page_file import write_page
from kilnctl.report.record import load_record
from kilnctl.report.record_page import record_page
from kilnctl.report.workshop import Workshop

pytestmark = pytest.mark.on_demand
HEAT_S, MONTH, LOAD = 28_800, 60, 4


def cost(what: str, asked: str, work: Callable[[], object]) -> None:
    """Print the wall and processor seconds of a piece of work, best of three."""
    found = []
    for _ in range(3):
        began, used = time.monotonic(), time.process_time()
        work()
        found.append((time.monotonic() - began, time.process_time() - used))
    wall, processor = min(found)
    print(f"{what:<42} asked {asked:<8} {wall:5.2f} s, processor {processor:5.2f} s")


def test_what_a_record_and_a_month_cost(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        run = book.start_run(header(profile="", simulated=False))
        book.append(run, samples(HEAT_S), [])
        book.finish(run, "complete", {"cause": "", "peak_c": 219.1}, START_UTC + HEAT_S)
        for n in range(MONTH - 1):
            other = book.start_run(header(started_utc=START_UTC + n * 40_000.0, simulated=False))
            book.append(other, samples(30), [])
            book.finish(other, "complete", {"cause": "", "peak_c": 219.1}, START_UTC + HEAT_S)
    with Reader(tmp_path / "logbook.sqlite") as reader:

        def record(kind: str) -> None:
            write_page(record_page(reader, load_record(reader, run), Workshop()), tmp_path / f"r.{kind}")

        def month(kind: str) -> None:
            page = heats_page(reader, reader.runs(), "Heats of a month", Workshop())
            write_page(page, tmp_path / f"m.{kind}")

        cost("record of 8 h as PDF", "2 s", lambda: record("pdf"))
        cost("record of 8 h as HTML", "-", lambda: record("html"))
        cost("page of a month of 60 runs as HTML", "1 s", lambda: month("html"))
        cost("page of a month of 60 runs as PDF", "1 s", lambda: month("pdf"))
    print("memory at most", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024, "MB")


def _spin() -> None:
    while True:
        pass


@contextmanager
def load(count: int) -> Iterator[None]:
    spinners = [multiprocessing.Process(target=_spin, daemon=True) for _ in range(count)]
    for spinner in spinners:
        spinner.start()
    yield
    for spinner in spinners:
        spinner.kill()
        spinner.join()


async def test_how_long_a_key_takes_at_load() -> None:
    wire = Wire(heating())
    app = WatchApp(wire, VirtualClock())
    took: list[float] = []
    async with app.run_test(size=(120, 35)) as pilot:
        await pilot.pause()
        with load(LOAD):
            time.sleep(2.0)
            for n in range(20):
                wanted = "°F" if n % 2 == 0 else "°C"
                began = time.monotonic()
                app.simulate_key("u")
                while f"measured {wanted}" not in text_of(app):
                    await pilot.pause(0.005)
                took.append(time.monotonic() - began)
    print(
        f"a key until it is drawn, {LOAD} spinning beside it (load {os.getloadavg()[0]:.0f}): asked 0.3 s, "
        f"median {statistics.median(took):.2f} s, worst {max(took):.2f} s"
    )
