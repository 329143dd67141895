import pytest

from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.permits.needed_steps import needs


@pytest.fixture
def oven():
    return load_oven(home.bundled("ovens") / "hardening-furnace.toml")


def test_each_kind_of_heat_needs_all_that_a_lesser_one_needs(oven):
    live, above, temper, heat = (
        {s.name for s in needs(kind, oven)}
        for kind in ("live", "above 260", "unattended temper", "unattended heat")
    )
    assert live < above < temper < heat
    assert "limit test" in temper - above
    assert {"reference check", "learn"} <= heat - temper


def test_the_weld_drill_is_spared_where_a_contact_sees_the_element(oven):
    blind = oven.model_copy(update={"signal": oven.signal.model_copy(update={"heater_live": None})})
    assert "weld drill" not in {s.name for s in needs("unattended temper", oven)}
    assert "weld drill" in {s.name for s in needs("unattended temper", blind)}
