"""How far a campaign is: its pace and the time that is left."""

from kilnctl.cli.plan import heats_progress


def test_pace_and_time_left() -> None:
    assert heats_progress.pace(0, 200, 3.0) == "q: stop"
    assert heats_progress.pace(50, 200, 25.0) == "2.00 a second, about 75 s left; q: stop"
    assert heats_progress.over(200, 200, 100.0, "heats") == "200 heats in 100 s: 2.00 a second"
