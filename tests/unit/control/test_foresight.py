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
