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
