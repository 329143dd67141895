"""A wrong wattage in the oven file: control is the same to the bit, energy is not; a current shows it.

An oven of twice the power, mass, area and loss warms up alike (every term of its heat balance is doubled), so
no temperature can tell.
"""

import json
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.heat.job import Job
from kilnctl.heat.tune_run import tune_profile
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.learning.identification import Identified, describe
from kilnctl.logbook.readers import Reader
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import OvenModel
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.dry_run import rehearse
from simulator.oven import ovens

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
TEMPER = Profile.model_validate(
    {
        "name": "x",
        "segment": (
            {"kind": "ramp", "to": "200 C", "rate": "600 C/h"},
            {"kind": "soak", "at": "200 C", "time": "10 min", "band": "9 K"},
        ),
    }
)
LEARNED = OvenModel.from_dict(
    json.loads((Path(__file__).parents[1] / "faults/learned/tempering-oven.json").read_text(encoding="utf-8"))
)
FACTORS = (0.5, 2.0)


def rated(factor: float, oven: Oven = OVEN) -> Oven:
    return oven.model_copy(update={"power_w": factor * OVEN.power_w})


@cache
def heat(factor: float) -> tuple[dict[str, np.ndarray], float]:
    """Return record and kWh of a heat of the same 1200 W oven under a file that says another power."""
    done = rehearse(rated(factor), Job(TEMPER), plant=ovens.tempering_oven(), model=LEARNED)
    outcome = done.run()
    assert outcome.outcome == "complete"
    columns = Reader(done.book.connection).curve(done.run_id).columns()
    return {n: c for n, c in columns.items() if n != "energy_kwh"}, outcome.summary["energy_kwh"]


@pytest.mark.parametrize("factor", FACTORS)
def test_the_same_oven_is_controlled_the_same_and_only_the_energy_follows_the_file(factor: float) -> None:
    (true, kwh), (seen, said_kwh) = heat(1.0), heat(factor)
    for name, column in true.items():
        np.testing.assert_array_equal(seen[name], column, err_msg=name)
    assert said_kwh == pytest.approx(factor * kwh, rel=1e-3)


@pytest.mark.parametrize("factor", FACTORS)
def test_guess_and_limits_are_the_same(factor: float) -> None:
    assert nameplate(rated(factor)) == nameplate(OVEN)
    for model in (None, nameplate(OVEN)):
        assert Thresholds.of(rated(factor), model) == Thresholds.of(OVEN, model)


def test_what_was_learned_is_shown_with_what_rests_on_the_file() -> None:
    """The fit itself is given the guess, the room and the readings, and no power."""
    learned = Identified(nameplate(OVEN), (20.0, 30.0), (20.0, 31.0), (2.0, 4.0))
    assert any("600 W is what the file says" in line for line in describe(rated(0.5), learned))


NUMBER = """
[signal.{name}]
device = "board"
table = "input"
register = {register}
format = "uint16"
scale = {scale}
low = 0
high = 1000
"""


@pytest.fixture(scope="session")
def measured(tmp_path_factory: pytest.TempPathFactory) -> Oven:
    """Return the oven file with volts and current of the element wired."""
    text = (bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
    signals = [NUMBER.format(name="supply_v", register=6, scale=0.1)]
    signals += [NUMBER.format(name="current_a", register=7, scale=0.01)]
    path = tmp_path_factory.mktemp("oven") / "oven.toml"
    path.write_text(text + "".join(signals), encoding="utf-8")
    return load_oven(path)


def tune(oven: Oven, volts: float = 1.0) -> tuple[str, str, float]:
    """Return how the learning heat-up of the 1200 W oven ends, why, and after how long."""
    going = rehearse(oven, Job(tune_profile(oven)), plant=ovens.tempering_oven())
    going.board.flaws.volts = volts
    outcome = going.run()
    assert outcome.heat_off
    return outcome.outcome, outcome.cause, outcome.summary["duration_s"]


@pytest.mark.parametrize("factor", [0.5, 0.7, 1.45, 2.0])
def test_a_measured_current_stops_the_learning_within_two_minutes(factor: float, measured: Oven) -> None:
    outcome, why, spent_s = tune(rated(factor, measured))
    # An element that draws over 1.4 times what the file says trips as another oven, before the learning ends.
    assert outcome == ("tripped" if factor < 1.0 / 1.4 else "stopped")
    assert "the element draws 120" in why.replace("119", "120")
    assert f"says {factor * 1200:.0f} W" in why
    assert spent_s < 150.0


@pytest.mark.parametrize(("factor", "volts"), [(1.25, 1.0), (1.0, 0.92)])
def test_a_power_that_may_be_true_is_learned_whatever_the_volts(
    factor: float, volts: float, measured: Oven
) -> None:
    assert tune(rated(factor, measured), volts)[0] == "complete"


def test_without_a_measured_current_a_wrong_power_is_not_seen() -> None:
    assert tune(rated(2.0))[0] == "complete"
