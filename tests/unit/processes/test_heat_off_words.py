"""What a shaking hand may type after `off`, and what it is told."""

import json
import threading
from pathlib import Path

import pytest

from kilnctl.cli.heat.follow_job import not_off
from kilnctl.cli.heat.off import line, line_so_far, oven_in
from kilnctl.marks import off_stamp
from kilnctl.marks.off_means import Means
from kilnctl.processes import heat_off
from kilnctl.processes.heat_off import OffMeans, Report
from kilnctl.processes.off_at_ports import OffAtPorts


@pytest.fixture
def marked(own_home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave the mark of a heat whose port is gone; stamps go to a folder of the test."""
    (own_home / "running").mkdir()
    mark = 'name = "left"\nisolator = "red switch"\nport.bus = { path = "/dev/no-such-port" }\n'
    (own_home / "running" / "left.toml").write_text(mark, encoding="utf-8")
    monkeypatch.setattr(off_stamp, "MACHINE", tmp_path / "machine")


@pytest.mark.parametrize(
    ("words", "oven"),
    [
        ([], None),
        (["--oven", "left"], "left"),
        (["--oven=left"], "left"),
        (["--oven"], None),  # an unfinished thought still cuts every heat
        (["left"], None),
        (["--ovne", "left"], None),
        (["now", "please"], None),
    ],
)
def test_whatever_is_not_understood_means_all_ovens(words: list[str], oven: str | None) -> None:
    assert oven_in(words) == oven


def test_the_line_names_who_is_off_and_who_is_not() -> None:
    good = Report({"left": True}, "the controller", code=0)
    assert line(good) == "heat is off, read back: left (by the controller)"
    said = line(Report({"left": True, "right": False}, "kilnctl", ("right: no such port",)))
    assert "off: left" in said
    assert "NOT read back as off: right" in said
    assert "Cut the power by hand" in said
    assert "no such port" in said


def test_an_off_that_a_start_may_have_missed_is_no_good_news() -> None:
    said = line(Report({"left": True}, "kilnctl", ("/dev/shm/x: could not be left",)))
    assert said.startswith("read back as off: left. Watch them, or cut the power by hand")
    assert "could not be left" in said


def test_the_line_names_the_place_of_the_isolator_and_says_it_once() -> None:
    places = {"left": "red switch by the door", "right": "plug under the bench"}
    said = line(Report({"left": True, "right": False}, "kilnctl", ("right: no reply",), places))
    assert said.endswith("Cut the power by hand at: plug under the bench (right: no reply)")
    assert said.lower().count("not read back") == 1
    assert not_off({"isolator": "red switch"}) == ("OFF IS NOT CONFIRMED. CUT THE POWER NOW: red switch")


def test_what_reads_off_already_is_not_called_unread() -> None:
    """Three looks in a row make it sure: after the first one "not read back as off yet" is not so."""
    slow = {"left": 0.8, "right": 0.8}
    at = {"left": "red switch", "right": "plug"}
    one = Report({"left": False}, "kilnctl", isolators=at, slow=slow, reads_off=frozenset({"left"}))
    said = line_so_far(one, False)
    assert said.startswith("left reads off")
    assert "not read" not in said
    assert "cut the power" not in said
    both = one._replace(verified={"left": False, "right": False})
    said = line_so_far(both, False)
    assert "still asking: right, not read back as off yet" in said
    assert said.endswith("cut the power at: plug")
    assert "left reads off" in said


def test_nothing_connected_is_no_success() -> None:
    assert "cut its power by hand" in line(Report({}, "kilnctl"))


def test_whoever_waits_hears_early_what_is_not_off_yet(marked: None, monkeypatch: pytest.MonkeyPatch) -> None:
    heard: list[str] = []
    told = threading.Event()

    class Slow(OffMeans):
        def go(self, means: Means) -> None:
            assert told.wait(20.0)
            super().go(means)

    def tell(so_far: Report, alarm: bool) -> None:
        heard.append(line_so_far(so_far, alarm))
        if alarm:
            told.set()

    monkeypatch.setattr(heat_off, "TELL_S", 0.0)
    monkeypatch.setattr(heat_off, "ALARM_S", 0.2)
    monkeypatch.setattr(heat_off, "OffMeans", Slow)
    assert heat_off.heat_off(None, "a test", tell=tell).code == 1
    assert heard == [
        "still asking: left, not read back as off yet. If it cannot wait, cut the power at: red switch",
        "CUT THE POWER at: red switch. Not read back as off yet: left; still trying",
    ]


@pytest.mark.parametrize(("reads_off", "alarms"), [(True, 0), (False, 1)])
def test_the_alarm_waits_for_what_is_known(
    marked: None, monkeypatch: pytest.MonkeyPatch, reads_off: bool, alarms: int
) -> None:
    """A slow board that ends well raised it; one that was asked and did not read off raises it at once."""
    heard: list[bool] = []
    asked = threading.Event()

    def slowly(*_: object) -> dict[str, bool]:
        assert asked.wait(20.0)
        return {"left": reads_off}

    def tell(so_far: Report, alarm: bool) -> None:
        heard.append(alarm)
        asked.set()

    monkeypatch.setattr(heat_off, "TELL_S", 0.0)
    monkeypatch.setattr(heat_off, "ALARM_S", 60.0)
    monkeypatch.setattr(OffAtPorts, "alone", slowly)
    heat_off.heat_off(None, "a test", tell=tell)
    assert heard == [False, *[True] * alarms]


def test_a_terminal_that_has_stopped_reading_holds_up_no_off(
    marked: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    reads_again, used = threading.Event(), []

    class Counted(OffMeans):
        def go(self, means: Means) -> None:
            used.append(means)
            super().go(means)

    monkeypatch.setattr(heat_off, "TELL_S", 60.0)
    monkeypatch.setattr(heat_off, "ALARM_S", 60.0)
    monkeypatch.setattr(heat_off, "OffMeans", Counted)
    monkeypatch.setattr(OffAtPorts, "alone", lambda *_: {"left": False})
    ended = threading.Thread(
        target=heat_off.heat_off, args=(None, "a test"), kwargs={"tell": lambda *_: reads_again.wait(20.0)}
    )
    ended.start()
    ended.join(10.0)
    held_up = ended.is_alive()
    reads_again.set()
    ended.join()
    assert not held_up
    assert used[-1] is Means.BESIDE


def test_a_pipe_that_nobody_reads_ends_no_off(marked: None, monkeypatch: pytest.MonkeyPatch) -> None:

    def tell(so_far: Report, alarm: bool) -> None:
        raise BrokenPipeError

    monkeypatch.setattr(OffAtPorts, "alone", lambda *_: {"left": False})
    assert heat_off.heat_off(None, "a test", tell=tell).code == 1


@pytest.mark.parametrize(("watches", "heard"), [(True, False), (True, True), (False, False)])
def test_the_silent_board_of_a_recording_alarms_nobody(
    marked: None, own_home: Path, monkeypatch: pytest.MonkeyPatch, watches: bool, heard: bool
) -> None:
    """One that answers and does not read off does, whoever has switched it on."""
    mark = own_home / "running" / "left.toml"
    text = mark.read_text(encoding="utf-8")
    said = {"id": "1", "pid": 1, "started": 1, "boot": "b", "check": "x"} | {"watches": watches}
    mark.write_text(f"# kilnctl running {json.dumps(said)}\n{text}", encoding="utf-8")
    told: list[str] = []
    monkeypatch.setattr(OffAtPorts, "alone", lambda *_: {"left": False})
    monkeypatch.setattr(OffAtPorts, "heard", lambda *_: {"left"} if heard else set())
    report = heat_off.heat_off("left", "a test", tell=lambda *now: told.append(line_so_far(*now)))
    alarms = heard or not watches
    assert any("CUT THE POWER" in line_ for line_ in told) is alarms
    assert report.code == 1
    assert ("nothing here was heating it" in line(report)) is not alarms
