"""What is said while an `off` is still tried: calm first, the alarm once, and nothing once it is off."""

from kilnctl.processes.late_off import LateOff

NEVER_S = 3600.0  # of an hour nothing passes in these tests


def test_an_alarm_that_is_known_before_its_time_is_raised_once_and_nothing_calm_follows() -> None:
    told: list[bool] = []
    late = LateOff(NEVER_S, NEVER_S, lambda: True, told.append)
    late.say(False)
    late.say(True)
    late.say(True)
    late.say(False)
    late.cancel()
    assert told == [False, True]


def test_nothing_is_said_of_what_is_off() -> None:
    told: list[bool] = []
    late = LateOff(NEVER_S, NEVER_S, lambda: False, told.append)
    late.say(False)
    late.say(True)
    late.cancel()
    assert told == []
