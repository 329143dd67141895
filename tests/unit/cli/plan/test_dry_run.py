"""`dry-run` on a short heat: what its page says and its chart shows, and what it refuses."""

import pytest

from kilnctl.cli.plan.dry_run import dry_run
from kilnctl.cli.plan.dry_run_answer import treatment_lines
from kilnctl.errors import ConfigError


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path / "home"))
    return tmp_path


def test_a_dry_run_says_which_oven_and_draws_itself_over_the_prediction(shop, capsys):
    chart = shop / "heat.svg"
    assert dry_run(oven="tempering-oven", soak="60C", hold_for="2min", chart=chart) == 0
    said = capsys.readouterr().out
    assert "this oven has not been learned" in said
    assert "predicted, without faults" in said
    text = chart.read_text(encoding="utf-8")
    assert "clock time" not in text, "a rehearsal ran by no clock; its chart said that it began at 00:00"
    assert "hours since the start" in text
    assert "predicted" in text
    assert "simulated oven: invented" in text


def test_a_chart_of_another_kind_is_refused_before_anything_is_done(shop):
    with pytest.raises(ConfigError, match=r"\.png, \.svg or \.pdf"):
        dry_run(oven="tempering-oven", soak="60C", hold_for="2min", chart=shop / "x.bmp")


def test_a_fault_that_never_came_is_no_fault_survived(shop, capsys):
    with pytest.raises(ConfigError, match=r"^smoke@5 h 00 min never came: the heat was over after \d+ min"):
        dry_run(oven="tempering-oven", soak="60C", hold_for="2min", fault=["smoke@5h"])
    assert capsys.readouterr().out == ""


def test_a_fault_after_a_trip_is_told_as_not_come(shop, capsys):
    faults = ["sensor-open@1min", "smoke@5h"]
    assert dry_run(oven="tempering-oven", soak="60C", hold_for="2min", fault=faults) == 4
    assert "smoke@5 h 00 min never came: the heat was over after" in capsys.readouterr().out


def test_what_a_heat_did_to_the_part_is_told_line_by_line():
    done = {"T = 60 HRC": 7200.0, "above_700_s": 600.0, "above_800_s": 300.0, "warning": "too slow for oil"}
    assert treatment_lines(done) == [
        "temper equivalent with T = 60 HRC: 2 h 00 min",
        "the part was 10 min above 700 °C, 5 min above 800 °C",
        "too slow for oil",
    ]
    assert treatment_lines({}) == []
