"""How long a start waits, reckoned back from the hour at which all shall be over."""

from datetime import datetime

import pytest

from kilnctl.cli.heat.delayed_start import wait_s
from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.errors import RunRefused
from kilnctl.heat.job import Job
from kilnctl.treatment.planning import soak_job

pytestmark = pytest.mark.usefixtures("own_home")
OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
NOW = datetime(2026, 11, 25, 9, 0).astimezone()
HELD = soak_job(60.0, 300.0, OVEN)


def test_the_wait_is_reckoned_back_from_the_hour():
    said = []
    job = Job(HELD, unattended=True)
    waits = wait_s("15:00", job, OVEN, 1.0, NOW, said.append)
    assert 2 * 3600 < waits < 6 * 3600
    assert "15:00" in said[0]
    assert "not been learned" in said[1]
    scaled = wait_s("15:00", job, OVEN, 10.0, NOW, said.append)
    assert scaled / 10.0 > waits


def test_a_heat_that_a_person_must_start_does_not_wait():
    with pytest.raises(RunRefused, match="--unattended"):
        wait_s("15:00", Job(HELD), OVEN, 1.0, NOW, print)


def test_too_late_is_refused():
    with pytest.raises(RunRefused, match="choose a later"):
        wait_s("09:05", Job(HELD, unattended=True), OVEN, 1.0, NOW, print)
