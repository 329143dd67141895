"""figure pyrometer: what an infrared thermometer shows at a wrong emissivity."""

import pytest

from kilnctl.cli.figure.workshop.pyrometer import true_of


def test_long_waves_are_wrong_by_more_and_a_right_setting_by_nothing() -> None:
    """Far out (Rayleigh and Jeans) radiation goes with temperature itself."""
    assert true_of(800.0, 1.0, 10.0) == pytest.approx(800.0)
    assert true_of(800.0, 0.9, 1.0) < true_of(800.0, 0.9, 10.0) < 1073.15 / 0.9 - 273.15
