"""What a writer sees before heat and in each tick, on real files: the protocol's own words come out."""

import os
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from kilnctl.config import home
from kilnctl.marks import latch_file, off_stamp, running_ovens
from kilnctl.marks.latch import Latch
from kilnctl.marks.mark_writer import Ties, Writer
from kilnctl.marks.off_stamp import Outlet, StampWatch, leave, stamps_now
from kilnctl.marks.oven_identity import OvenIdentity
from kilnctl.readings import Trip

AT = (Outlet("/dev/there-is-no-such-port", "1-coil-0"),)
WELL = Ties(lambda: True, lambda _oven: "")


@pytest.fixture
def writer(own_home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Writer:
    monkeypatch.setattr(off_stamp, "MACHINE", tmp_path / "machine")
    return Writer("left", StampWatch(stamps_now(own_home), own_home, "left", AT), WELL, OvenIdentity(AT))


def text() -> str:
    found = (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
    return found.replace('name = "tempering-oven"', 'name = "left"')


def armed(run: int = 7) -> Latch:
    latch = Latch("left", lambda: datetime(2026, 11, 3, tzinfo=UTC), identity=OvenIdentity(AT))
    running_ovens.mark("left", text())
    latch.arm(run)
    return latch


def test_a_sound_heat_may_begin_and_heat(writer: Writer) -> None:
    assert writer.why_not_begin() == ""
    armed()
    assert writer.why_no_heat(7) == ""
    assert writer.why_go_off() is None


def test_a_mark_of_a_heat_that_was_not_read_back_blocks_the_next(writer: Writer) -> None:
    child = (
        "from kilnctl.marks import running_ovens; import sys; running_ovens.mark('left', sys.stdin.read())"
    )
    subprocess.run([sys.executable, "-c", child], input=text(), text=True, check=True, env=os.environ)
    for one in (writer, replace(writer, identity=None)):  # a drill too
        said = one.why_not_begin()
        assert said.startswith('oven "left": an earlier heat was not read back as off, the oven may be hot')
        assert "cut its power" in said
    assert running_ovens.orphaned("left")
    running_ovens.clear("left")
    assert writer.why_not_begin() == ""


def test_a_mark_of_its_own_earlier_heat_blocks_it_too(writer: Writer) -> None:
    running_ovens.mark("left", text())
    assert "was not read back as off" in replace(writer, identity=None).why_not_begin()
    assert not running_ovens.orphaned("left")


def test_the_mark_of_a_recording_blocks_nothing(writer: Writer) -> None:
    """One that was killed left the words of a heat, and its oven was barred."""
    running_ovens.mark("left", text(), heats=False)
    for one in (writer, replace(writer, identity=None)):
        assert one.why_not_begin() == ""


def test_a_torn_mark_blocks_it(writer: Writer) -> None:
    (running_ovens.folder() / "left.toml").write_text('name = "le', encoding="utf-8")
    assert (
        "cannot be read, the oven may be hot: cut its power" in replace(writer, identity=None).why_not_begin()
    )


def test_a_latch_that_is_armed_by_another_run_tripped_or_taken_away_blocks_it(
    writer: Writer, own_home: Path
) -> None:
    latch = armed()
    assert "the latch says armed" in writer.why_no_heat(8)
    latch.trip(Trip("sensor_lost", "open", 0.0))
    assert "the latch says tripped: find the cause, then `kilnctl reset" in writer.why_no_heat(7)
    (own_home / "latches" / "left.latch").unlink()
    assert "the latch says missing" in writer.why_no_heat(7)
    latch_file.renew(own_home / "latches" / "left.latch", {"state": "free"})
    assert "removed or replaced" in writer.why_no_heat(7)


def test_an_off_and_a_dead_supervisor_are_seen_before_heat_and_in_every_tick(
    writer: Writer, own_home: Path
) -> None:
    alone = replace(writer, ties=replace(WELL, supervised=lambda: False))
    assert alone.why_go_off() == "the supervisor is dead"
    assert "the supervisor is dead" in alone.why_not_begin()
    leave(own_home, None, AT, "x")
    assert str(writer.why_go_off()).startswith("off was asked")
    assert writer.why_not_begin().endswith("by x, later than this start")


def test_a_device_that_another_process_holds_blocks_it(writer: Writer) -> None:
    held = replace(writer, ties=replace(WELL, held_by=lambda _oven: "process 7 (x)"))
    assert "held by process 7 (x)" in held.why_not_begin()
