"""figure skin at the command line: more time is more skin, and what loses none is refused."""

import json

import pytest

from kilnctl.cli.main import run

pytestmark = pytest.mark.usefixtures("own_home")


def test_four_times_as_long_is_twice_as_deep(capsys: pytest.CaptureFixture[str]) -> None:
    """Diffusion goes with the square root of time (Fick)."""
    depths = []
    for time in ("15min", "60min"):
        assert run(("figure", "skin", "815C", time, "--steel", "1084", "--json")) == 0
        depths.append(json.loads(capsys.readouterr().out)["grind_high_mm"])
    assert depths[1] == pytest.approx(2.0 * depths[0])


@pytest.mark.parametrize("words", [("600C", "1h"), ("815C", "-1h"), ("815C", "1h", "--carbon", "9")])
def test_what_cannot_be_is_refused(words: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(("figure", "skin", *words)) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_what_was_measured_leads_where_diffusion_alone_says_more(capsys: pytest.CaptureFixture[str]) -> None:
    """Bare D2: 0.2 to 0.5 mm is ground off (common practice); at most 0.45 mm was measured (a thesis)."""
    assert run(("figure", "skin", "1015C", "30min", "--steel", "D2", "--json")) == 0
    said = json.loads(capsys.readouterr().out)
    assert 0.2 <= said["grind_low_mm"] < said["grind_high_mm"] == pytest.approx(0.45)
    assert said["diffusion_high_mm"] > 0.45
    assert run(("figure", "skin", "1015C", "6h", "--steel", "D2", "--json")) == 0
    assert json.loads(capsys.readouterr().out)["grind_high_mm"] > 0.45  # longer than was measured
