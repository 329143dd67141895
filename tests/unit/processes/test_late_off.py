"""Who waits for an off hears calm words first and the alarm once."""

import threading

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
