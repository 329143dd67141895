"""Simulated time never jumps: a simulator that was stopped goes on from where it stood, and says so."""

from simulator.wire.clock_scaling import LONGEST_REAL_S, Pace


def test_time_runs_by_the_speed_and_a_stop_is_no_jump() -> None:
    said: list[str] = []
    pace = Pace(10.0, 100.0, said.append)
    assert pace.passed_s(100.25) == 2.5
    assert said == []
    assert pace.passed_s(160.25) == LONGEST_REAL_S * 10.0
    assert "60.0 s" in said[0]
    assert pace.passed_s(160.25) == 0.0
