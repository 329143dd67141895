"""Kills in mid-write, a disk that runs full, a folder that may not be written: real processes, real files.

kill -9 does not prove what a power cut does; for that the file is opened with synchronous FULL, which
test_book.py checks.
"""

import os
import random
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest
from heats import a_book, one_run

from kilnctl.errors import RecordError
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook

TESTS = Path(__file__).parents[2]
WRITER = """
    import sys
    from pathlib import Path
    from heats import events, header, samples
    from kilnctl.logbook.writer import Logbook

    book = Logbook(Path(sys.argv[1]))
    run = book.start_run(header(period_s=1.0))
    print(run, flush=True)
    for count, sample in enumerate(samples(2000), 1):
        book.append(run, [sample], events(1) if count % 7 == 0 else [])
        print(count, flush=True)
"""
FULL = """
    import resource, signal, sys
    from pathlib import Path
    from heats import header, samples
    from kilnctl.clock import VirtualClock
    from kilnctl.logbook.writer import Logbook
    from kilnctl.logbook.recorder import BATCH, Recorder

    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    book = Logbook(Path(sys.argv[1]))
    recorder = Recorder(book, book.start_run(header(period_s=1.0)), VirtualClock(), threaded=False)
    made = samples(12 * BATCH)
    for sample in made[: 2 * BATCH]:
        recorder.sample(sample)
    before = recorder.acknowledged
    room = max(p.stat().st_size for p in Path(sys.argv[1]).parent.iterdir()) + 4096
    _, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (room, hard))
    for sample in made[2 * BATCH : 8 * BATCH]:
        recorder.sample(sample)
    print(before == 2 * BATCH, recorder.acknowledged < 8 * BATCH, recorder.complete, bool(recorder.trouble))
    if sys.argv[2] == "freed":
        resource.setrlimit(resource.RLIMIT_FSIZE, (hard, hard))
    for sample in made[8 * BATCH :]:
        recorder.sample(sample)
    recorder.finish("complete", {"cause": ""})
    print(recorder.complete, recorder.acknowledged, recorder.lost)
"""


def start(script: str, *args: str) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(script), *args],
        env={**os.environ, "PYTHONPATH": str(TESTS)},
        stdout=subprocess.PIPE,
        text=True,
    )


def kill_in_mid_write(path: Path, after: int) -> tuple[int, int]:
    """Kill a writer after so many acknowledged samples; return its run and the last number it told."""
    with start(WRITER, str(path)) as process:
        assert process.stdout is not None
        run = int(process.stdout.readline())
        for _ in range(after):
            process.stdout.readline()
        process.kill()
        told = process.stdout.read().split("\n")
    # A line that was cut in the middle was not told.
    return run, max([after, *(int(line) for line in told[:-1] if line)])


def check_kills(folder: Path, kills: int) -> None:
    path, dice = folder / "logbook.sqlite", random.Random(kills)
    for _ in range(kills):
        run, acknowledged = kill_in_mid_write(path, dice.randint(1, 150))
        with Logbook(path) as book:
            verdict = book.verify(run)
            assert verdict.chain_holds, verdict.findings
            assert acknowledged <= verdict.samples <= acknowledged + 1
            assert not verdict.complete
            assert book.connection.execute("PRAGMA quick_check").fetchone()[0] == "ok"
            assert Reader(book.connection).run(run).why_incomplete == "no end was recorded"


@pytest.mark.real_bytes
@pytest.mark.slow
def test_a_dozen_kills_in_mid_write_lose_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    check_kills(tmp_path, 12)


@pytest.mark.on_demand
def test_a_thousand_kills_in_mid_write_lose_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    check_kills(tmp_path, 1000)


@pytest.mark.real_bytes
@pytest.mark.parametrize("then", ["full", "freed"])
def test_a_disk_that_runs_full_in_mid_run(tmp_path: Path, then: str) -> None:
    """A limit on file size makes the kernel refuse writes as a full disk would (EFBIG for ENOSPC)."""
    path = tmp_path / "logbook.sqlite"
    with start(FULL, str(path), then) as process:
        assert process.stdout is not None
        while_full, at_end = process.stdout.read().splitlines()
    assert process.returncode == 0
    assert while_full == "True True False True"
    with Logbook(path) as book:
        verdict, info = book.verify(1), Reader(book.connection).run(1)
    assert verdict.chain_holds
    if then == "freed":
        assert at_end == "True 7200 0"
        assert verdict.complete
    else:
        complete, acknowledged, lost = at_end.split()
        assert complete == "False"
        assert int(acknowledged) + int(lost) == 7200
        assert verdict.samples == int(acknowledged)
        assert not info.complete


AS_STRANGER = """
    import os, sys
    from pathlib import Path
    from heats import one_run
    from kilnctl.errors import RecordError
    from kilnctl.logbook.writer import Logbook
    from kilnctl.logbook.readers import Reader

    with Logbook(None) as book:  # loads everything that is loaded late
        Reader(book.connection).curve(one_run(book))
    if os.getuid() == 0:
        os.setuid(65534)  # root may write anywhere
    path = Path(sys.argv[1])
    try:
        Logbook(path)
    except RecordError as e:
        print(e)
    with Reader(path) as reader:
        print(reader.run(1).complete, reader.verify(1).chain_holds, len(reader.curve(1)))
"""


@pytest.mark.real_bytes
def test_a_folder_that_may_not_be_written_is_read_and_refused_in_one_line(tmp_path: Path) -> None:
    folder = tmp_path / "nur lesen ä"
    folder.mkdir()
    with a_book(folder) as book:
        one_run(book)
    (folder / "logbook.sqlite").chmod(0o444)
    folder.chmod(0o555)
    _open_up_to(folder)
    try:
        with start(AS_STRANGER, str(folder / "logbook.sqlite")) as process:
            assert process.stdout is not None
            refusal, read = process.stdout.read().splitlines()
    finally:
        folder.chmod(0o755)
    assert "cannot be written" in refusal
    assert read == "True True 200"


def _open_up_to(folder: Path) -> None:
    """Let other users pass through pytest's private folders (the test runs as somebody else where it can)."""
    for parent in folder.parents:
        if "pytest" in parent.name or parent.name.startswith(("test_", "popen-")):
            parent.chmod(0o755)


def test_a_missing_folder_is_refused_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="cannot be written") as e:
        Logbook(tmp_path / "nowhere" / "logbook.sqlite")
    assert "\n" not in str(e.value)
