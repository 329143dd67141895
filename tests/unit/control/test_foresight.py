"""How late an oven is taken to answer: its dead time, and no less than suits how much heat lifts it."""

from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.control import foresight
from kilnctl.control.door_recovery import AfterDoor
from kilnctl.control.foresight import Foresight
from kilnctl.model.filter import OvenFilter
from kilnctl.model.nameplate import nameplate
from kilnctl.model.trust import TRUST

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/hardening-furnace.toml")


@pytest.mark.parametrize(
    ("gives", "dead_s", "late_s"),
    [
        (1.1, 9.0, 40.0),  # an open coil: as before
        (2.5, 9.0, 20.0),  # light fibre: half as far, or a twentieth of full power makes it sag by 7 K
        (6.0, 9.0, 20.0),
        (2.5, 31.0, 31.0),
        (0.2, 900.0, 600.0),
        (0.0, 2.0, 40.0),  # an oven that no heat lifts
    ],
)
def test_a_light_oven_is_aimed_at_from_nearer(monkeypatch, gives, dead_s, late_s):
    monkeypatch.setattr(foresight, "tangent", lambda _model, _at_c, _ambient_c: (gives, dead_s))
    seen = OvenFilter(nameplate(OVEN), TRUST)
    assert Foresight(OVEN, seen, AfterDoor()).answer_at(829.0) == (gives, pytest.approx(late_s))


def test_a_glowing_oven_whose_sensor_is_found_later_is_held_by_the_dead_time_that_it_has_today():
    """Held by the learned one's, a tube half as slow again swung by 3 K; a cooler oven lands."""
    seen = OvenFilter(nameplate(OVEN).scaled(lag=8.0), TRUST)
    foresight_ = Foresight(OVEN, seen, AfterDoor())
    learned_s = {at_c: foresight_.delay_at_s(at_c) for at_c in (218.0, 829.0)}
    seen.logs[0] = 0.4
    seen.model = seen.base.scaled(lag=1.49)
    assert foresight_.delay_at_s(829.0) > learned_s[829.0] + 5.0
    assert foresight_.delay_at_s(218.0) == learned_s[218.0]
    seen.logs[0] = 0.05  # chance: a sound sensor is found no nearer
    assert foresight_.delay_at_s(829.0) == learned_s[829.0]
