"""An offset or scale in the oven file that moves a sensor by a few kelvins is a correction without a point.

0 °C is 273.15 K and 32 °F (ITS-90): such offsets say how a device writes a number. What corrects a sensor is
judged by one rule, and nobody knows what a bare number rests on.
"""

import pytest

from kilnctl.care.corrections_in_force import judged
from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError, ProfileError
from kilnctl.link.start import StartJob
from kilnctl.permits.admission import admit
from kilnctl.permits.challenge import Challenges
from kilnctl.permits.permit import permit_drill
from kilnctl.profile.segments import Profile
from kilnctl.tomlfile import loads

TEXT = (home.bundled("ovens") / "hardening-furnace.toml").read_text(encoding="utf-8")
HEAT = 'name = "p"\n[[segment]]\nkind = "soak"\nat = "200 C"\ntime = "10min"\npurpose = "temper"\n'
PROFILE = loads(HEAT, Profile, ProfileError, "p")


def written(sensor: str = "process", **keys: object) -> Oven:
    """Return the bundled furnace with keys of a sensor as a maker would have typed them."""
    oven = loads(TEXT, Oven, ConfigError, "oven")
    place = getattr(oven.signal, sensor) or oven.signal.process
    signal = oven.signal.model_copy(update={sensor: place.model_copy(update=keys)})
    return oven.model_copy(update={"signal": signal})


@pytest.mark.parametrize(
    ("sensor", "keys"),
    [
        ("process", {"offset": 5.5}),
        ("process", {"offset": -9.0}),
        ("process", {"offset": -268.15}),  # of a device in kelvins, and 5 K more
        ("process", {"unit": "F", "offset": 9.0}),
        ("process", {"unit": "F", "offset": 41.0}),
        ("process", {"unit": "F", "scale": 0.18, "offset": -450.67}),
        ("process", {"unit": "mV", "couple": "K", "offset": 0.2}),  # 5 K of type K: 41 microvolts a kelvin
        ("process", {"scale": 0.1007}),
        ("process", {"scale": 0.1, "offset": -10.0}),
        ("process", {"scale": 0.1007, "offset": -10.0}),
        ("process", {"scale": 120 / 4095, "offset": -7.0}),
        ("process", {"unit": "F", "scale": 1.81}),
        ("second", {"offset": 3.0}),
        ("load", {"offset": 3.0}),
        ("cold_junction", {"offset": 3.0}),
    ],
)
def test_a_bare_number_in_the_file_corrects_nothing(sensor: str, keys: dict[str, object]) -> None:
    found = judged(written(sensor, **keys), PROFILE)
    why = found.refusals[0]
    assert f"signal.{sensor}" in why
    assert "care calibrate" in why


@pytest.mark.parametrize(
    "keys",
    [
        {"offset": 0.0},
        {"offset": -273.15},
        {"offset": -273.0},
        {"unit": "F", "offset": -459.67},
        {"unit": "F", "scale": 1.8, "offset": 32.0},
        {"unit": "F", "scale": 0.18, "offset": -459.67},
        {"scale": 0.075, "offset": -300.0},  # 4000 to 20000 microamperes are 0 to 1200 degC
        {"scale": 0.0625},
        {"scale": 1000 / 1024},  # a converter of ten bits
        {"offset": -50.0},
        {"scale": 0.010071, "offset": -50.0},  # 16 bits are 660 K: 0.7 % off a hundredth
        {"scale": 0.0994647},  # 27648 are 2750 K
        {"scale": 120 / 4095, "offset": -10.0},  # -10 to 110 degC on twelve bits
        {"unit": "mV", "couple": "K", "offset": -10.0, "scale": 0.000305},
    ],
)
def test_how_a_device_writes_a_number_is_no_correction(keys: dict[str, object]) -> None:
    assert judged(written(**keys), PROFILE).refusals == ()


@pytest.mark.usefixtures("own_home")
def test_the_process_that_heats_asks_it_too() -> None:
    at = TEXT.index("[signal.process]") + len("[signal.process]")
    text = f"{TEXT[:at]}\noffset = -9.0{TEXT[at:]}"
    start = StartJob(oven=text, profile=PROFILE, off_stamp={}, presence="own screen")
    refusals = admit(start, Challenges(RealClock()), RealClock()).permission.refusals
    assert any("signal.process.offset" in why for why in refusals)
    drill = permit_drill("heater pulse", loads(text, Oven, ConfigError, "o"), {}, 0.0, "", "")
    assert any("signal.process.offset" in why for why in drill)
