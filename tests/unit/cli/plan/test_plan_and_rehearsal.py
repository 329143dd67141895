"""A plan and its rehearsal agree within 2 %, and where they do not the page says why."""

import re
from dataclasses import replace

import pytest

from kilnctl.cli.main import run
from kilnctl.cli.plan.forecast_page import apart_lines
from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.forecast.band import End, Forecast
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import Coasted, OvenModel
from kilnctl.profile.segments import Profile
from kilnctl.treatment.planning import soak_job

TEMPER = soak_job(218.0, 7200.0, load_oven(bundled("ovens") / "tempering-oven.toml"))
FORESEEN = Forecast(
    (), (End(0, 1800.0, 1800.0, None), End(1, 9000.0, 9000.0, None), End(2, 12600.0, 0.0, None))
)


def walked(*ends_s: float) -> list[dict[str, object]]:
    starts = (0.0, *ends_s)
    kinds = ("ramp", "soak", "cool")
    return [
        {"index": i, "kind": kinds[i], "started_s": starts[i], "ended_s": end_s}
        for i, end_s in enumerate(ends_s)
    ]


def test_what_agrees_needs_no_word() -> None:
    assert apart_lines(FORESEEN, walked(1850.0, 9050.0, 12700.0), None, TEMPER) == []


def test_a_longer_cooling_is_named_with_its_reason() -> None:
    (line,) = apart_lines(FORESEEN, walked(1800.0, 9000.0, 13500.0), None, TEMPER)
    assert line.startswith("against the forecast: cooling 15 min longer")
    assert "nameplate" in line


def test_a_short_heat_is_told_of_less_than_a_minute() -> None:
    short = Forecast((), (End(0, 600.0, 600.0, None),))
    (line,) = apart_lines(short, walked(630.0), None, TEMPER)
    assert line.startswith("against the forecast: heating 30 s longer; the forecast knows the nameplate")


def test_a_heat_without_an_end_is_not_compared() -> None:
    heating = [{"index": 0, "kind": "ramp", "started_s": 0.0, "ended_s": None}]
    assert apart_lines(FORESEEN, heating, None, TEMPER) == []


LEARNED = replace(nameplate(load_oven(bundled("ovens") / "hardening-furnace.toml")), learned=True)
SEEN = replace(LEARNED, coasts=(Coasted(300.0, 60.0), Coasted(580.0, 50.0)))
UNSEEN, GUESSED = "above 580 °C (1076 °F) the oven was not learned", "predicted from the heat-up alone"


def profile(to: str) -> Profile:
    held = {"kind": "soak", "at": to, "time": "1 h"}
    segments = ({"kind": "ramp", "to": to}, held, {"kind": "cool", "to": "60 C"})
    return Profile.model_validate({"name": "any", "segment": segments})


@pytest.mark.parametrize(
    ("to", "ends_s", "model", "why"),
    [
        ("1060 C", (3000.0, 10200.0, 13800.0), SEEN, [UNSEEN]),
        ("600 C", (3000.0, 10200.0, 13800.0), SEEN, []),
        ("1060 C", (1800.0, 9000.0, 13500.0), SEEN, [GUESSED]),
        ("1060 C", (3000.0, 10200.0, 15000.0), SEEN, [UNSEEN, GUESSED]),
        ("1060 C", (1800.0, 9000.0, 13500.0), replace(SEEN, cools=LEARNED), []),
    ],
)
def test_what_was_never_seen_of_a_learned_oven_is_its_first_reason(
    to: str, ends_s: tuple[float, ...], model: OvenModel, why: list[str]
) -> None:
    (line,) = apart_lines(FORESEEN, walked(*ends_s), model, profile(to))
    assert [said for said in (UNSEEN, GUESSED) if said in line] == why
    assert line.endswith("its air, wall and shell cool each at their own pace")


@pytest.mark.slow
@pytest.mark.usefixtures("own_home")
@pytest.mark.parametrize("job", ["gouge-o1-temper", "drawknife-5160-normalise", "gouge-o1-harden"])
def test_the_plan_says_one_time(job: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The time under the table and the end of the predicted curve come of one engine."""
    assert run(["plan", job]) == 0
    shown = " ".join(capsys.readouterr().out.split()).split("Then in ")[0]
    said = re.findall(r"about (\d+ h \d+ min|\d+ min)|done: after (\d+ h \d+ min|\d+ min)", shown)
    assert len({a or b for a, b in said[:1] + said[-1:]}) == 1
