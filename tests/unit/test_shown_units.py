"""Texts in one scale: points by 1.8 c + 32, differences and rates by 1.8 alone, inches as on a rule.

Conversions: the definitions of the degree Fahrenheit and of the inch (25.4 mm); numbers worked by hand.
"""

from pathlib import Path

import pytest

from kilnctl.cli.main import run
from kilnctl.config.preferences import units_shown
from kilnctl.errors import ConfigError
from kilnctl.shown_units import in_units, say_inches


@pytest.mark.parametrize(
    ("said", "in_f"),
    [
        ("to 830 °C (1526 °F)", "to 1526 °F"),
        ("600-675 °C (1112-1247 °F)", "1112-1247 °F"),
        ("204 °C/399 °F: 61", "399 °F: 61"),
        ("150 °C/h (270 °F/h)", "270 °F/h"),
        ("± 3.7 K (6.7 °F)", "± 6.7 °F"),
        ("6 mm (0.236 in) bare", "15/64 in bare"),
        ("after 205 °C expect 60-62 HRC", "after 401 °F expect 60-62 HRC"),
        ("Ms near 184 °C (± 20 K)", "Ms near 363 °F (± 36 °F)"),
        ("no faster than 28 °C/h down to 650 °C", "no faster than 50 °F/h down to 1202 °F"),
        ("from 700 to 500 °C", "from 1292 to 932 °F"),
        ("-84 °C for 60 min", "-119 °F for 60 min"),
        ("up to 6.35 mm", "up to 1/4 in"),
        (
            "a type K couple (Hollomon and Jaffe 1945), 20 °C",
            "a type K couple (Hollomon and Jaffe 1945), 68 °F",
        ),
        ("8 % at 815, 18 % at 870 °C", "8 % at 815, 18 % at 870 °C (1598 °F)"),
        ("810 °C is within 800-815 (a sheet)", "810 °C (1490 °F) is within 800-815 (a sheet)"),
    ],
)
def test_fahrenheit_alone(said: str, in_f: str) -> None:
    assert in_units(said, "F") == in_f
    assert in_units(said, "both") == said
    assert "°F" not in in_units(said, "C")


@pytest.mark.parametrize("asked", ["400 °F (204 °C)?", "720 °F/h (400 °C/h)?"])
def test_a_question_about_the_unit_keeps_it_in_each(asked: str) -> None:
    """It was "did you mean 400 °F (399 °F)?" with "F"."""
    assert in_units(f"did you mean {asked}", "F") == f"did you mean {asked.partition(' (')[0]}?"
    assert in_units(f"did you mean {asked}", "C") == f"did you mean {asked}"


@pytest.mark.parametrize(
    ("mm", "said"),
    [(3.175, "1/8 in"), (1.5875, "1/16 in"), (38.1, "1 1/2 in"), (25.4, "1 in"), (1.27, "0.050 in")],
)
def test_inches_as_on_a_rule(mm: float, said: str) -> None:
    assert say_inches(mm / 25.4) == said


@pytest.mark.parametrize(
    "asked",
    [
        ("plan", "gouge-o1-temper"),
        ("steel", "5160"),
        ("figure", "through", "1/4in", "1500F", "--within", "9F"),
        ("figure", "temper", "60", "--steel", "O1"),
        ("oven", "check", "tempering-oven"),
    ],
    ids=lambda asked: asked[0] + asked[1],
)
def test_a_maker_of_one_scale_sees_that_one(
    asked: tuple[str, ...], own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for units, other in (("F", "°C"), ("C", "°F")):
        (own_home / "preferences.toml").write_text(f'units = "{units}"\n')
        assert run(asked) == 0
        said = capsys.readouterr().out
        assert f"°{units}" in said
        alone = [line for line in said.splitlines() if other in line and f"°{units}" not in line]
        assert alone == [] or units == "C"  # a note may quote °F
        assert asked[0] == "oven" or max(map(len, said.splitlines())) <= 80


def test_a_refusal_is_in_the_scale_too(own_home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (own_home / "preferences.toml").write_text('units = "F"\n')
    assert run(("dry-run", "--soak", "1000F", "--for", "1h", "--oven", "tempering-oven")) == 3
    said = capsys.readouterr().err
    assert "1000 °F" in said
    assert "°C" not in said


def test_a_choice_that_is_none_is_one_line(own_home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (own_home / "preferences.toml").write_text('units = "K"\n')
    with pytest.raises(ConfigError):
        units_shown()
    assert run(("figure", "boiling", "--height", "650m")) == 2
    assert capsys.readouterr().err.count("\n") == 1
