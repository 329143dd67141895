"""One heat end to end over real bytes: simulator process, supervisor, controller, record, export."""

import csv
import os
import select
import signal
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from shop import SPEED, Shop

from kilnctl.logbook.readers import Reader

FIRST_COLUMNS = ("elapsed_s", "utc", "state", "segment", "setpoint_c", "process_c", "duty", "heat_on")
pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = Shop(tmp_path)
    yield made
    made.close()


def test_a_heat_from_the_command_line_to_the_exported_record(shop: Shop) -> None:
    shop.simulate()
    code, summary = shop.heat("--soak", "24C", "--for", "90s")
    assert (code, summary["outcome"]) == (0, "complete"), summary
    assert summary["heat_off_confirmed"]
    assert summary["simulated"]
    assert summary["segments"][1]["soak_credited_s"] == pytest.approx(90.0, abs=3.0)

    out = shop.folder / "heat.csv"
    run = str(summary["run"])
    assert shop.run("export", run, "--format", "csv", "--out", str(out)).returncode == 0
    with out.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0])[:8] == [
        "elapsed_s",
        "utc",
        "state",
        "segment",
        "setpoint_c",
        "process_c",
        "duty",
        "heat_on",
    ]
    assert rows[-1]["state"] == "complete"
    assert any(row["heat_on"] == "1" for row in rows)
    read_c = [float(row["process_c"]) for row in rows if row["process_c"]]  # a busy machine misses a reading
    assert max(read_c) == pytest.approx(summary["peak_c"], abs=0.11)
    assert "unchanged" in shop.run("verify", run).stdout


def test_record_only_watches_and_never_heats(shop: Shop) -> None:
    shop.simulate()
    words = ("run", "--oven", str(shop.oven), "--record-only", "--time-scale", str(SPEED))
    watching = subprocess.Popen(shop.command(*words), env=shop.env, stdout=subprocess.PIPE)
    wait_for_line(watching, "°C")  # the first line of the heat: from now on Ctrl-C means off
    watching.send_signal(signal.SIGINT)
    said, _ = watching.communicate(timeout=90)
    assert watching.returncode == 5
    assert "stopped" in said.decode()
    with Reader(shop.folder / "home" / "logbook.sqlite") as book:
        assert book.summary(1)["energy_kwh"] == 0.0
        assert len(book.curve(1)) > 0


def wait_for_line(process: subprocess.Popen[bytes], word: str, within_s: float = 90.0) -> None:
    """Read what a process says until a word is in it."""
    assert process.stdout is not None
    give_up_s, said = time.monotonic() + within_s, b""
    while word.encode() not in said:
        assert time.monotonic() < give_up_s, said
        assert process.poll() is None, said
        if select.select([process.stdout], [], [], 0.2)[0]:
            said += os.read(process.stdout.fileno(), 65536)


def test_a_simulator_at_another_speed_is_refused(shop: Shop) -> None:
    shop.simulate()
    words = ("run", "--oven", str(shop.oven), "--soak", "28C", "--for", "1min", "--time-scale", "7")
    done = shop.run(*words)
    assert done.returncode == 3
    assert done.stderr.strip().endswith("the simulator runs at 20 ×, not at 7 ×")
