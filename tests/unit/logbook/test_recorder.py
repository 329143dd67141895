"""The recorder: the tick never waits and never sees an error; what could not be kept is counted and said."""

import sqlite3
import threading
from collections.abc import Sequence
from pathlib import Path

import pytest
from heats import START_UTC, a_book, header, samples

from kilnctl.clock import RealClock, VirtualClock
from kilnctl.errors import RecordError
from kilnctl.logbook import recorder as room
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.recorder import Recorder
from kilnctl.logbook.sample import Sample
from kilnctl.logbook.writer import Event, Logbook


def test_in_virtual_time_batches_are_written_inline(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        run = book.start_run(header())
        recorder = Recorder(book, run, VirtualClock(), threaded=False)
        for sample in samples(room.BATCH + 5):
            recorder.sample(sample)
        assert recorder.acknowledged == room.BATCH
        recorder.event("trip", "too hot", limit_c=260.0)
        recorder.finish("tripped", {"cause": "too hot"})
        assert recorder.complete
        assert recorder.acknowledged == room.BATCH + 5
        assert book.verify(run).complete
        assert Reader(book.connection).run(run).cause == "too hot"
        assert recorder.seal == book.verify(run).value


@pytest.mark.real_bytes
def test_a_thread_writes_what_the_tick_hands_over(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        run = book.start_run(header())
        recorder = Recorder(book, run, RealClock())
        for sample in samples(100):
            recorder.sample(sample)
        recorder.event("start", "gouge temper")
        assert recorder.flush()
        assert recorder.acknowledged == 100
        recorder.finish("complete", {})
        assert recorder.complete
        assert book.verify(run).complete


class Stuck(Logbook):
    """A logbook on a disk that answers only when told to."""

    def __init__(self, path: Path) -> None:
        super().__init__(path)
        self.free = threading.Event()

    def append(self, run: int, samples: Sequence[Sample], events: Sequence[Event]) -> None:
        self.free.wait(20.0)
        super().append(run, samples, events)


def test_a_disk_that_hangs_does_not_hold_up_the_tick(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "MOST_WAITING", 50)
    with Stuck(tmp_path / "logbook.sqlite") as book:
        run = book.start_run(header())
        recorder = Recorder(book, run, VirtualClock())
        for sample in samples(60):
            recorder.sample(sample)  # returns at once, although nothing can be written
        assert recorder.lost == 10
        assert not recorder.complete
        book.free.set()
        recorder.finish("complete", {})
        assert Reader(book.connection).run(run).why_incomplete == "10 samples lost"


class Full(Logbook):
    """A logbook on a disk that is full for a while."""

    full = True

    def append(self, run: int, samples: Sequence[Sample], events: Sequence[Event]) -> None:
        if self.full:
            raise RecordError("database or disk is full")
        super().append(run, samples, events)


def test_a_full_disk_is_told_and_made_up_for_when_there_is_room_again(tmp_path: Path) -> None:
    with Full(tmp_path / "logbook.sqlite") as book:
        run = book.start_run(header())
        recorder = Recorder(book, run, VirtualClock(), threaded=False)
        made = samples(3 * room.BATCH)
        for sample in made[: 2 * room.BATCH]:
            recorder.sample(sample)
        assert "full" in recorder.trouble
        assert not recorder.complete
        assert recorder.acknowledged == 0
        book.full = False
        for sample in made[2 * room.BATCH :]:
            recorder.sample(sample)
        recorder.finish("complete", {})
        assert recorder.complete
        assert book.verify(run).complete
        assert book.verify(run).samples == 3 * room.BATCH


def test_a_disk_that_stays_full_leaves_an_incomplete_record_and_no_exception(tmp_path: Path) -> None:
    with Full(tmp_path / "logbook.sqlite") as book:
        run = book.start_run(header())
        recorder = Recorder(book, run, VirtualClock(), threaded=False)
        for sample in samples(20):
            recorder.sample(sample)
        recorder.finish("complete", {})
        assert not recorder.complete
        assert recorder.lost == 20
        assert recorder.trouble
        assert not Reader(book.connection).run(run).complete


class Broken(Logbook):
    """A logbook with a fault of our own in it."""

    def append(self, run: int, samples: Sequence[Sample], events: Sequence[Event]) -> None:
        raise ZeroDivisionError("a fault of ours")


def test_even_a_fault_of_our_own_does_not_reach_the_tick(tmp_path: Path) -> None:
    with Broken(tmp_path / "logbook.sqlite") as book:
        recorder = Recorder(book, book.start_run(header()), VirtualClock(), threaded=False)
        for sample in samples(room.BATCH):
            recorder.sample(sample)
        recorder.finish("complete", {})
        assert "a fault of ours" in recorder.trouble
        assert not recorder.complete


def test_a_locked_file_is_waited_for_and_told(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        run = book.start_run(header())
        book.connection.execute("PRAGMA busy_timeout = 10")
        recorder = Recorder(book, run, VirtualClock(), threaded=False)
        other = sqlite3.connect(tmp_path / "logbook.sqlite", isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        made = samples(2 * room.BATCH)
        for sample in made[: room.BATCH]:
            recorder.sample(sample)
        assert "locked" in recorder.trouble
        other.execute("ROLLBACK")
        other.close()
        for sample in made[room.BATCH :]:
            recorder.sample(sample)
        recorder.finish("complete", {})
        assert recorder.complete
        assert book.verify(run).samples == 2 * room.BATCH


def test_what_json_cannot_carry_is_recorded_as_unknown(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        recorder = Recorder(book, book.start_run(header()), VirtualClock(), threaded=False)
        recorder.event("odd", "numbers", bad=float("nan"), path=Path("/x"), pair=(1, 2))
        recorder.finish("complete", {"peak_c": float("inf")})
        assert recorder.complete
        reader = Reader(book.connection)
        assert reader.events(1)[0].data == {"bad": None, "path": "/x", "pair": [1, 2]}
        assert reader.summary(1) == {"peak_c": None}


def test_events_carry_the_seconds_of_their_own_run(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        clock = VirtualClock()
        clock.advance(500.0)
        recorder = Recorder(book, book.start_run(header(started_utc=START_UTC)), clock, threaded=False)
        clock.advance(12.0)
        recorder.event("alarm", "late")
        recorder.finish("complete", {})
        assert Reader(book.connection).events(1)[0].at_s == 12.0
