"""What an instrument does not take as a set-point no plan may ask for, whatever the oven itself bears."""

from types import SimpleNamespace

import pytest
import tomlkit

from kilnctl.cli.oven.oven_file.templates import WAYS, template
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError, RunRefused
from kilnctl.permits import preflight
from kilnctl.profile.segments import Profile, Soak
from kilnctl.tomlfile import loads
from kilnctl.treatment.plan_checks import check_envelope


def panel(highest: str | None) -> Oven:
    file = template(next(way for way in WAYS if way.topic == "set-point-instrument"))
    heater = {**file["output"]["heater"], "highest": highest}
    file["output"]["heater"] = {key: one for key, one in heater.items() if one is not None}
    return loads(tomlkit.dumps(file), Oven, ConfigError, "panel")


def refused(oven: Oven, at_c: int) -> str:
    soak = Soak.model_validate({"at": f"{at_c} C", "time": "10 min"})
    profile = Profile.model_validate({"name": "hot", "segment": (soak,)})
    said = []
    for check in (
        lambda: check_envelope(profile, oven),
        lambda: preflight.check_envelope(oven, SimpleNamespace(profile=profile)),  # type: ignore[arg-type]
    ):
        try:
            check()
        except RunRefused as e:
            said.append(str(e))
    assert len(said) != 1, said
    return " ".join(said)


def test_a_plan_above_the_highest_set_point_is_refused_before_and_at_the_start() -> None:
    oven = panel("1080 C")
    assert oven.limit_c == 1100.0  # by its plate, as the guide's example has it
    assert not refused(oven, 1080)
    assert "highest set-point" in (said := refused(oven, 1085))
    assert "1080 °C" in said


@pytest.mark.parametrize("highest", [None, "1370 C"])
def test_an_instrument_that_takes_more_is_held_by_the_limit(highest: str | None) -> None:
    oven = panel(highest)
    assert oven.highest_goal_c == 1090.0
    assert not refused(oven, 1090)
