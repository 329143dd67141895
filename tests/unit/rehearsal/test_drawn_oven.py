"""The simulated oven of a rehearsal: near the fit, never the fit, the same for the same seed."""

import math
from dataclasses import replace

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.heat.job import Job
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import PARAMETERS, advance, at_rest
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.drawn_oven import draw_oven
from kilnctl.rehearsal.dry_run import oven_for, rehearse

OVENS = {
    name: load_oven(bundled("ovens") / f"{name}.toml") for name in ("hardening-furnace", "tempering-oven")
}
TEMPER = Profile.model_validate(
    {
        "name": "x",
        "segment": (
            {"kind": "ramp", "to": "218 C"},
            {"kind": "soak", "at": "218 C", "time": "10 min", "band": "9 K"},
        ),
    }
)


def fitted(oven, sd):
    """Return a model that a fit is sure of to `sd` in the logarithm of every constant."""
    n = len(PARAMETERS)
    spread = tuple(tuple(sd**2 * (i == j) for j in range(n)) for i in range(n))
    return replace(nameplate(oven), learned=True, residual_k=0.4, covariance=spread)


@pytest.mark.parametrize("oven", OVENS.values(), ids=list(OVENS))
def test_a_sure_fit_leaves_only_the_days_supply(oven):
    found = [draw_oven(oven, fitted(oven, 0.001), seed) for seed in range(6)]
    assert all(one.heating == pytest.approx(1.0, abs=0.12) for one in found)
    assert len({one.heating for one in found}) == 6


@pytest.mark.parametrize("oven", OVENS.values(), ids=list(OVENS))
def test_the_oven_in_the_simulators_build_follows_its_own_draw(oven):
    """Against the drawn model itself, pulse by pulse: what is apart is the draw, not the translation."""
    found = draw_oven(oven, fitted(oven, 0.15), 3)
    state, plant, worst_k, top_c = at_rest(oven.ambient_c), found.plant, 0.0, oven.ambient_c
    for t in range(3000):
        heat = 1.0 if t % 1000 < 500 else 0.0
        state = advance(found.model, state, heat, oven.ambient_c, 1.0)
        plant.advance(heat, 1.0)
        worst_k = max(worst_k, abs(plant.sensor.junction_c - state.junction_c))
        top_c = max(top_c, state.junction_c)
    assert worst_k < 0.06 * (top_c - oven.ambient_c)


def test_a_less_certain_fit_draws_ovens_further_apart_and_a_seed_gives_the_same_again():
    oven = OVENS["tempering-oven"]

    def rms(sd):
        return math.sqrt(sum(draw_oven(oven, fitted(oven, sd), s).apart_k ** 2 for s in range(6)) / 6)

    assert rms(0.2) > 1.2 * rms(0.02)
    again, other = draw_oven(oven, fitted(oven, 0.2), 2), draw_oven(oven, fitted(oven, 0.2), 3)
    assert draw_oven(oven, fitted(oven, 0.2), 2).plant.data == again.plant.data != other.plant.data


def test_a_learned_oven_is_rehearsed_on_a_draw_that_is_named_and_stays_within_a_tempers_band():
    oven = OVENS["tempering-oven"]
    model = fitted(oven, 0.05)
    plant, words = oven_for(oven, model, 5)
    assert "draw 5" in words
    assert "K rms from the fit" in words
    outcome = rehearse(oven, Job(TEMPER), seed=5, plant=plant, model=model).run()
    assert outcome.outcome == "complete"
    assert outcome.summary["segments"][1]["overshoot_k"] < 3.0


def test_an_oven_that_was_not_learned_is_said_to_be_invented():
    assert "not been learned" in oven_for(OVENS["tempering-oven"], None, 0)[1]
