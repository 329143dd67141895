"""What a plan shows of the heat ahead, with a learned oven and without."""

import json
from dataclasses import replace

import pytest

from kilnctl.cli.plan.forecast_page import arrival_lines, basis, curve_lines, forecast_from_cold
from kilnctl.cli.plan.plan import plan
from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.forecast.band import End, Forecast, ForecastPoint
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import PARAMETERS, Coasted
from kilnctl.profile.segments import Profile
from kilnctl.report.charts.plan_chart import apart
from kilnctl.treatment.planning import soak_job

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
N = len(PARAMETERS)
LEARNED = replace(
    nameplate(OVEN),
    learned=True,
    covariance=tuple(tuple(0.01 * (i == j) for j in range(N)) for i in range(N)),
)


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path / "home"))
    return tmp_path


def test_a_learned_oven_arrives_within_a_band_and_another_is_said_to_be_a_guess():
    profile = soak_job(218.0, 600.0, OVEN)
    with_band = arrival_lines(forecast_from_cold(profile, OVEN, LEARNED, ()), profile)
    wide = arrival_lines(forecast_from_cold(profile, OVEN, None, ()), profile)
    assert "218 °C" in with_band[0]
    assert " to " in with_band[0]
    assert " to " in wide[0]
    assert "has not been learned" in basis(None)
    assert "drawn from what was learned" in basis(LEARNED)


def test_what_was_never_seen_of_an_oven_is_said_beside_its_band():
    job = Profile.model_validate(
        {"name": "x", "segment": ({"kind": "ramp", "to": "218 C"}, {"kind": "cool", "to": "60 C"})}
    )
    seen = replace(LEARNED, coasts=(Coasted(100.0, 60.0), Coasted(150.0, 60.0)))
    assert "above 150 °C (302 °F) the oven was not learned" in basis(seen, job)
    assert "not learned" not in basis(replace(LEARNED, coasts=(Coasted(215.0, 60.0),)), job)
    assert "cooling with the heat off is a guess" in basis(seen, job)
    assert "cooling with the heat off is a guess" not in basis(replace(seen, cools=LEARNED), job)


def test_what_may_never_arrive_is_said():
    profile = soak_job(218.0, 600.0, OVEN)
    found = Forecast((ForecastPoint(0.0, 20.0, 20.0, 20.0),), (End(0, 3600.0, 3000.0, None),))
    said = arrival_lines(found, profile)
    assert "never, perhaps" in said[0]
    assert "not within four days" in said[-1]


def test_the_curve_in_characters_has_its_band_around_its_middle():
    points = [ForecastPoint(60.0 * i, 10.0 * i, 8.0 * i, 12.0 * i) for i in range(60)]
    lines = curve_lines(points)
    assert all(len(line) < 80 for line in lines)
    drawn = [line.partition("|")[2] for line in lines if "|" in line]
    assert all("o" in row for row in drawn[-8:])
    middle = drawn[len(drawn) // 2]
    assert middle.index(":") < middle.index("o") < middle.rindex(":")


def test_arrival_marks_do_not_lie_on_each_other():
    assert apart([(10.0, 8.0, 12.0), (11.0, 9.0, 13.0), (20.0, 18.0, 22.0), (30.0, 28.0, None)]) == [
        (8.0, 12.0),
        (18.0, 22.0),
    ]


def test_plan_says_and_draws_what_it_foresees(shop, capsys):
    chart = shop / "plan.svg"
    assert plan("gouge-o1-temper", chart=chart, as_json=True) == 0
    told = json.loads(capsys.readouterr().out)["predicted"]
    assert told["learned"] is False
    assert told["points"][0][0] == 0.0
    assert told["ends"]
    text = chart.read_text(encoding="utf-8")
    assert "predicted" in text
    assert "has not been learned" in text
