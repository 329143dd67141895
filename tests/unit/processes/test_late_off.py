"""Who waits for an off hears calm words first and the alarm once."""

import threading
import time

import pytest

from kilnctl.processes.late_off import LateOff


def test_the_alarm_is_raised_once_and_nothing_calm_follows_it() -> None:
    said: list[bool] = []
    late = LateOff(60.0, 60.0, lambda: True, said.append)
    for alarm in (False, True, True, False):
        late.say(alarm)
    late.cancel()
    assert said == [False, True]


def test_nothing_is_said_where_all_is_off() -> None:
    said: list[bool] = []
    late = LateOff(60.0, 60.0, lambda: False, said.append)
    late.say(alarm=True)
    late.cancel()
    assert said == []


def test_both_are_said_in_time_by_themselves() -> None:
    said, alarmed = [], threading.Event()

    def tell(alarm: bool) -> None:
        said.append(alarm)
        if alarm:
            alarmed.set()

    late = LateOff(0.0, 0.05, lambda: True, tell)
    assert alarmed.wait(20.0)
    late.cancel()
    assert said[-1] is True


def test_no_calm_word_comes_after_the_line_of_the_end() -> None:
    """It was put together while the board did not read off yet, and written after "heat is off"."""
    lines: list[str] = []
    begun = threading.Event()

    def tell(alarm: bool) -> None:
        begun.set()
        time.sleep(0.05)
        lines.append("still asking")

    late = LateOff(0.0, 60.0, lambda: True, tell)
    assert begun.wait(20.0)
    late.cancel()
    lines.append("heat is off")
    late.say(alarm=False)
    time.sleep(0.1)
    assert lines == ["still asking", "heat is off"]


def test_a_terminal_that_does_not_read_holds_up_no_end() -> None:
    stuck, begun = threading.Event(), threading.Event()

    def tell(alarm: bool) -> None:
        begun.set()
        stuck.wait(20.0)

    late = LateOff(0.0, 60.0, lambda: True, tell)
    assert begun.wait(20.0)
    began_s = time.monotonic()
    late.cancel()
    stuck.set()
    assert time.monotonic() - began_s < 2.0


def said_by_a_slow_board(latest_s: list[float | None]) -> tuple[list[bool], float]:
    """Return what is heard of an off whose board is so slow, look by look, and when the alarm was raised."""
    said, alarmed, began_s = [], threading.Event(), time.monotonic()

    def tell(alarm: bool) -> None:
        said.append(alarm)
        if alarm:
            alarmed.set()

    slow = iter(latest_s)
    late = LateOff(0.05, 0.1, lambda: True, tell, lambda: next(slow, latest_s[-1]))
    assert alarmed.wait(20.0)
    late.cancel()
    return said, time.monotonic() - began_s


def test_a_slow_board_puts_the_alarm_off_until_its_own_time_is_over() -> None:
    said, after_s = said_by_a_slow_board([0.7])
    assert said == [False, False, True]
    assert 0.7 <= after_s < 5.0


def test_a_slow_board_that_stops_answering_raises_it_at_once() -> None:
    said, after_s = said_by_a_slow_board([60.0, 60.0, 60.0, None])
    assert said == [False, False, True]
    assert after_s < 5.0


def breaks(*_args: object) -> bool:
    raise RuntimeError("dictionary changed size during iteration")


@pytest.mark.parametrize("broken", ["waits", "tell", "latest_s"])
def test_whatever_breaks_the_alarm_is_raised(broken: str, capfd: pytest.CaptureFixture[str]) -> None:
    """An exception in its thread once ended it, and with it the alarm."""
    alarmed = threading.Event()

    def tell(alarm: bool) -> None:
        if alarm:
            alarmed.set()

    parts = {"waits": lambda: True, "tell": tell, "latest_s": lambda: None} | {broken: breaks}
    late = LateOff(0.0, 0.05, **parts)
    if broken == "tell":
        give_up_s, said = time.monotonic() + 20.0, ""
        while "CUT THE POWER" not in said and time.monotonic() < give_up_s:
            time.sleep(0.02)
            said += capfd.readouterr().err
        assert "CUT THE POWER" in said
    else:
        assert alarmed.wait(20.0)
    late.cancel()
