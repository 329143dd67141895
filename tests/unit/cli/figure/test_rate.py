"""figure rate at the command line: rates convert without the 32, and a ramp takes what its rate says."""

import json

import pytest

from kilnctl.cli.main import run

pytestmark = pytest.mark.usefixtures("own_home")


def test_a_rate_that_is_worked_out_takes_the_time_that_was_asked(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(("figure", "rate", "--from", "70F", "--to", "1500F", "--time", "2h", "--json")) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["f_per_h"] == pytest.approx(715.0)  # (1500 - 70) / 2
    assert said["takes_s"] == pytest.approx(7200.0)


def test_a_minute_is_a_sixtieth_and_a_fall_has_no_sign(capsys: pytest.CaptureFixture[str]) -> None:
    for words in ("5C/min", "-300 C/h", "540 F/h"):
        assert run(("figure", "rate", words, "--json")) == 0
        assert json.loads(capsys.readouterr().out)["c_per_h"] == pytest.approx(300.0)
