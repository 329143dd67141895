"""A plan and its rehearsal agree within 2 %, and where they do not the page says why."""

import re

import pytest

from kilnctl.cli.main import run
from kilnctl.cli.plan.forecast_page import apart_lines
from kilnctl.forecast.band import End, Forecast

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
    assert apart_lines(FORESEEN, walked(1850.0, 9050.0, 12700.0), None) == []


def test_a_longer_cooling_is_named_with_its_reason() -> None:
    (line,) = apart_lines(FORESEEN, walked(1800.0, 9000.0, 13500.0), None)
    assert line.startswith("against the forecast: cooling 15 min longer")
    assert "nameplate" in line


def test_a_short_heat_is_told_of_less_than_a_minute() -> None:
    short = Forecast((), (End(0, 600.0, 600.0, None),))
    (line,) = apart_lines(short, walked(630.0), None)
    assert line.startswith("against the forecast: heating 30 s longer; the forecast knows the nameplate")


def test_a_heat_without_an_end_is_not_compared() -> None:
    assert (
        apart_lines(FORESEEN, [{"index": 0, "kind": "ramp", "started_s": 0.0, "ended_s": None}], None) == []
    )


@pytest.mark.slow
@pytest.mark.usefixtures("own_home")
@pytest.mark.parametrize("job", ["gouge-o1-temper", "drawknife-5160-normalise", "gouge-o1-harden"])
def test_the_plan_says_one_time(job: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The time under the table and the end of the predicted curve come of one engine."""
    assert run(["plan", job]) == 0
    shown = " ".join(capsys.readouterr().out.split()).split("Then in ")[0]
    said = re.findall(r"about (\d+ h \d+ min|\d+ min)|done: after (\d+ h \d+ min|\d+ min)", shown)
    assert len({a or b for a, b in said[:1] + said[-1:]}) == 1
