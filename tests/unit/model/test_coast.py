"""How high an oven coasts, and the longest pulse below a ceiling, beside the model stepped finely."""

from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.model.coast import Outlook
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance, at_rest

MODEL = nameplate(load_oven(Path(__file__).parents[3] / "profiles/ovens/hardening-furnace.toml"))


def heated(to_c):
    state = at_rest(20.0)
    while state.junction_c < to_c:
        state = advance(MODEL, state, 1.0, 20.0, 1.0)
    return state


def test_the_coast_is_what_the_model_does_when_the_heat_goes_off():
    state = heated(200.0)
    told_c = Outlook(MODEL, state, 20.0).peak_c(0.0)
    peak_c = 0.0
    for _ in range(3000):
        state = advance(MODEL, state, 0.0, 20.0, 0.5)
        peak_c = max(peak_c, state.junction_c)
    assert told_c == pytest.approx(peak_c, abs=0.2)
    assert told_c > 205.0


def test_the_longest_pulse_just_reaches_the_ceiling():
    outlook = Outlook(MODEL, heated(200.0), 20.0)
    ceiling_c = outlook.peak_c(0.0) + 2.0
    on_s = outlook.longest_on_s(60.0, ceiling_c)
    assert 0.0 < on_s < 60.0
    assert outlook.peak_c(on_s) <= ceiling_c < outlook.peak_c(on_s + 1.0)


def test_no_pulse_at_all_where_the_coast_alone_passes_the_ceiling():
    assert Outlook(MODEL, heated(200.0), 20.0).longest_on_s(60.0, 201.0) == 0.0
