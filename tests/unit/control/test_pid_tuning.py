"""Gains: far too high ones are refused, and the largest is that of an integrating process."""

from pathlib import Path

import pytest

from kilnctl.config.oven import Zone, load_oven
from kilnctl.control.heat_controller import HeatController
from kilnctl.control.pid_tuning import largest_gain, refuse_wild_gains, simc, tangent
from kilnctl.errors import RunRefused
from kilnctl.model.nameplate import nameplate

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/hardening-furnace.toml")
MODEL = nameplate(OVEN)


@pytest.mark.parametrize("learned", [True, False])
def test_gains_ten_times_too_high_in_the_file_are_refused(learned):
    rate, delay_s = tangent(MODEL, 560.0, 20.0)
    sound = simc(rate, delay_s, 2 * delay_s).duty_per_k
    zone = Zone.model_validate({"up_to": "1100 C", "duty_per_k": sound, "integral": "600 s"})
    refuse_wild_gains(OVEN.model_copy(update={"zone": (zone,)}), MODEL, learned)
    wild = zone.model_copy(update={"duty_per_k": min(10 * sound, 1.0)})
    with pytest.raises(RunRefused, match="gain"):
        HeatController(OVEN.model_copy(update={"zone": (wild,)}), MODEL, learned)


def test_the_largest_gain_is_that_of_an_integrating_process():
    """Phase of k exp(-Ls)/s is -180 degrees at w = pi/2L; there its size is k/w."""
    assert largest_gain(0.5, 10.0) == pytest.approx(3.14159 / (2 * 0.5 * 10.0), rel=1e-4)
