"""Boiling water tells a wrong type of sensor, which a cold oven cannot.

Voltages of thermocouples: NIST ITS-90 tables (IEC 60584-1), in mV against 0 °C.
"""

import pytest
from maker import Maker

from kilnctl.clock import VirtualClock
from kilnctl.commissioning.couple_in_boiling_water import likelier
from kilnctl.commissioning.procedures import DOING
from kilnctl.commissioning.wizard import Shop, do_step
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.logbook.writer import Logbook
from kilnctl.permits.dead_man_test import Finding
from kilnctl.permits.setup_steps import BY_NAME

OVEN = load_oven(home.bundled("ovens") / "tempering-oven.toml")  # type K, its room at 20 °C
# mV at 100 °C and at 20 °C, and where the K table has the difference plus its own 0.798 mV at 20 °C
AT_100_MV = {"K": 4.096, "J": 5.269, "N": 2.774, "T": 4.279, "E": 6.319}
AT_20_MV = {"K": 0.798, "J": 1.019, "N": 0.525, "T": 0.790, "E": 1.192}
# K table: 67 °C 2.727, 74 °C 3.017, 123 °C 5.041, 144 °C 5.893; linear between these at 0.041 mV/K
K_PER_MV = 1.0 / 0.0413


def shown_by_k_module_c(letter: str) -> float:
    """Return what a module for type K shows of another couple in boiling water, by the tables above."""
    mv = AT_100_MV[letter] - AT_20_MV[letter] + AT_20_MV["K"]
    return 100.0 + (mv - AT_100_MV["K"]) * K_PER_MV


def tried(shows_c: float, height: str = "0 m"):
    class Bench(Shop):
        def drill(self, name, step):
            return Finding(True, shows_c, "read")

    with Logbook(None) as book:
        maker = Maker({"above sea level": height, "Note": ""})
        shop = Bench(OVEN, "text", maker, VirtualClock(), book, oven_io=None, probe=None)  # type: ignore[arg-type]
        return do_step(shop, BY_NAME["known temperature"], DOING), maker.text


def test_a_sound_sensor_passes_and_the_height_counts() -> None:
    assert tried(101.0)[0].passed
    assert not tried(96.0)[0].passed
    assert tried(96.0, "1200 m")[0].passed


def test_the_days_pressure_counts_as_everywhere_else() -> None:
    """90 °C at 701.8 hPa (a steam table): what passes at sea level does not pass there."""
    kept, text = tried(90.4, "701.8 hPa")
    assert kept.passed
    assert "90.0 °C" in text
    assert not tried(97.2, "701.8 hPa")[0].passed
    assert "weather moves it by 0.9 K" in tried(96.0, "3937 ft")[1]


@pytest.mark.parametrize("letter", ["J", "N", "E"])
def test_another_couple_on_the_module_is_found_and_named(letter: str) -> None:
    shows_c = shown_by_k_module_c(letter)
    kept, text = tried(shows_c)
    assert not kept.passed
    assert f"a couple of type {letter} on a module for type K reads so" in text


def test_even_the_nearest_couple_does_not_pass() -> None:
    """T on a K module: 4.279 - 0.790 + 0.798 = 4.287 mV, which type K has at about 104.6 °C."""
    assert not tried(shown_by_k_module_c("T"))[0].passed
    assert shown_by_k_module_c("T") == pytest.approx(104.6, abs=0.3)


def test_nothing_is_guessed_of_a_sensor_that_is_no_couple() -> None:
    other = OVEN.signal.process.model_copy(update={"couple": "other"})
    oven = OVEN.model_copy(update={"signal": OVEN.signal.model_copy(update={"process": other})})
    assert likelier(oven, 60.0, 100.0) == ""
