"""A door takes nothing of what a hold has found of its oven, and a trim is heat, however far it aims."""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.control.approach import Approach
from kilnctl.control.door_recovery import AfterDoor
from kilnctl.control.foresight import Foresight
from kilnctl.control.holding import Holding
from kilnctl.control.pid_tuning import settled
from kilnctl.model.filter import OvenFilter
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import OvenState, holding_duty
from kilnctl.model.trust import TRUST
from tests.unit.control.test_heat_controller import look

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/hardening-furnace.toml")
MODEL = replace(nameplate(OVEN), restless=0.01)


def held(steered_by_a_pi: bool = False) -> tuple[Holding, SimpleNamespace]:
    """Return a hold at 829 degC that has found something of its oven, and the door that it asks."""
    door = SimpleNamespace(in_doubt=False, drinks=0.1)
    door.sets_aside = lambda by_readings: door.in_doubt
    seen = SimpleNamespace(base=MODEL, surprise=1.0, unknown=-0.1, shaken=False)
    holding = Holding(OVEN, SimpleNamespace(door=door, filter=seen))  # type: ignore[arg-type]
    assert not holding.settle(look(0.0, 829.0, 829.0), 0.0, True)
    holding._settling.eased, holding._settling.trim_k, holding._late_s = 2.0, 1.5, 90.0
    if steered_by_a_pi:
        holding._pi.begin(0.44, 0.0, 0.4)
        holding._steered_s = 300.0
    return holding, door


@pytest.mark.parametrize(
    ("doubts", "found"),
    [
        ((True, True, True), (2.0, 1.5, 90.0)),
        ((True, False, False), (2.0, 1.5, 90.0)),  # an approach that lasts longer than the doubt
        ((False, False, True), (2.0, 1.5, 90.0)),  # no switch tells of it: the reading has fallen already
        ((False, False, False), (1.0, 0.0, 0.0)),  # it fell without a door: the model misled
    ],
)
def test_after_a_door_a_hold_goes_on_with_what_it_had_found(doubts, found):
    """A muffle that swung by 5 K before its PI came swung by 7 K after a cold charge, all over again."""
    holding, door = held()
    for at_s, door.in_doubt in enumerate(doubts, 1):
        holding.settle(look(at_s, 810.0, 829.0), 19.0, False)
    assert (holding._settling.eased, holding._settling.trim_k, holding._late_s) == found


def test_another_set_point_is_another_hold():
    holding, door = held()
    door.in_doubt = True
    holding.settle(look(1.0, 829.0, 600.0), 0.0, False)
    assert (holding._settling.eased, holding._settling.trim_k, holding._late_s) == (1.0, 0.0, 0.0)


@pytest.mark.parametrize(("surprise", "holds"), [(3.0, 0.54), (20.0, 0.44)])
def test_a_pi_comes_back_with_what_held_the_oven_and_what_is_drunk_since(surprise, holds):
    """An astonished model's word on that counts for nothing; nor does a trim of while a PI steered."""
    soaked = holding_duty(MODEL, 218.0, OVEN.ambient_c)
    assert soaked < 0.44
    holding, door = held(steered_by_a_pi=True)
    holding._foresight.filter.surprise = surprise
    door.in_doubt = True
    holding.settle(look(1.0, 829.0, 829.0), 0.0, False)
    assert holding._settling.trim_k == 0.0
    assert not holding._pi.begun
    holding._held_s, holding._late_s = 30.0, 0.0
    assert holding._misled(0.0, 40.0, 4.0)  # however quick the model thinks its oven
    assert holding._holds_at(218.0) == pytest.approx(holds)


@pytest.mark.parametrize(
    ("half_s", "surprise", "lasts"),
    [(80.0, 5.0, True), (38.0, 5.0, False), (80.0, 1.0, False)],
)
def test_a_swing_that_lasts_calls_for_a_pi_however_quick_the_model_thinks_its_oven(half_s, surprise, lasts):
    """A door's corner swung by 4 K for good; a current that is let up slowly swings too quickly for a PI."""
    holding, _ = held()
    holding._late_s, holding._held_s = 0.0, 30.0
    holding._foresight.filter.surprise = surprise
    swing = holding._settling.swing
    swing.turns, swing.half_k, swing.half_s, swing.dies = 4, 4.0, half_s, False
    assert holding._misled(0.0, 40.0, 4.0) is lasts


def test_a_relays_own_pulses_call_for_no_pi():
    holding, _ = held()
    holding._held_s, holding._late_s = 30.0, 0.0
    swing = holding._settling.swing
    swing.turns, swing.half_k, swing.dies = 2, 1.0, False
    for holding.window_s, swing.half_s, misled in ((62.0, 31.0, False), (62.0, 70.0, True)):
        assert holding._misled(0.0, 150.0, 4.0) is misled


def test_a_pi_that_the_air_of_an_unseen_door_called_is_none_that_the_oven_needs():
    """Its surprise was the door's; it began at the holding duty with a charge in, and sagged by 11 K."""
    holding, door = held(steered_by_a_pi=True)
    holding._steered_s, door.in_doubt = 20.0, True
    holding.settle(look(1.0, 829.0, 829.0), 0.0, False)
    assert holding._held is None
    assert holding._settling.trim_k == 1.5


@pytest.mark.parametrize(("peaks_c", "most_c"), [(828.9, 828.95), (829.6, 829.65), (835.0, 830.0)])
def test_after_a_door_heat_that_lifts_a_coming_peak_no_further_is_not_forbidden(monkeypatch, peaks_c, most_c):
    """An embedded element got no heat for two minutes below its goal, and sagged two dead times later."""
    seen, door = OvenFilter(MODEL, TRUST), AfterDoor()
    seen.step(829.0, 0.0, 20.0, 1.0)
    asked = []

    class Coast:
        def peak_c(self, on_s: float, stop_c: float = 1e9) -> float:
            return peaks_c

        def longest_on_s(self, window_s: float, ceiling_c: float) -> float:
            asked.append(ceiling_c)
            return window_s

    foresight = Foresight(OVEN, seen, door)
    monkeypatch.setattr(foresight, "outlook", lambda state: Coast())
    approach, state = Approach(OVEN, MODEL, foresight), settled(MODEL, 829.0, 20.0)
    assert isinstance(state, OvenState)
    approach.cap(look(0.0, 828.0, 829.0), state, 829.0)
    assert asked[0] < 829.3
    door.see(look(10.0, 828.0, 829.0, door_open=True), seen)
    approach.cap(look(20.0, 828.0, 829.0), state, 829.0)
    assert asked[1] == pytest.approx(most_c)
    # Once the air has gone, noise in the forecast may take no heat from a hold: 2 to 3 K low for minutes.
    door.see(look(80.0, 828.0, 829.0), seen)
    approach.cap(look(80.0, 828.0, 829.0), state, 829.0, holds=True)
    assert asked[2] == pytest.approx(830.5)


@pytest.mark.parametrize(
    ("surprise", "shaken", "eased"),
    [(3.0, False, 1.0), (20.0, False, 2.0), (20.0, True, 1.0)],
)
def test_in_the_doubt_after_a_door_only_an_astonished_model_makes_a_hold_gentler(surprise, shaken, eased):
    """Cold air surprises every model; once it has gone a stone floor that did swung by 5 K for minutes."""
    holding, door = held()
    holding._settling.eased, door.in_doubt = 1.0, True
    holding._foresight.filter.surprise, holding._foresight.filter.shaken = surprise, shaken
    assert holding.eased == eased


def test_a_hold_that_lands_is_made_no_gentler_by_the_surprise_of_its_coast():
    """Damp walls drank 7 K of a coast; a hold that then aimed twice as far took 160 s to make it good."""
    holding, _ = held()
    holding._settling.eased, holding._foresight.filter.surprise = 1.0, 7.0
    assert holding.eased == 2.0
    holding.settle(look(1.0, 822.0, 829.0), 7.0, True, lands=True)
    assert holding.eased == 1.0
