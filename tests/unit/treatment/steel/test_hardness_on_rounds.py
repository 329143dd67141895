"""A Rockwell test on a round, against ASTM E18 as a tester maker prints it."""

import pytest

from kilnctl.cli.main import run
from kilnctl.errors import ProfileError
from kilnctl.treatment.steel.hardness_on_rounds import round_correction

INCH = 25.4


@pytest.mark.parametrize(
    ("read", "inch", "add"),
    [(60, 3 / 8, 1.0), (60, 1 / 4, 1.5), (40, 1 / 4, 3.5), (20, 1 / 2, 3.5), (55, 1.5, 0.0), (62, 2.0, 0.0)],
)
def test_the_printed_corrections(read: float, inch: float, add: float) -> None:
    assert round_correction(read, "HRC", inch * INCH) == pytest.approx(add)


def test_between_rows_and_columns_it_lies_between_them() -> None:
    assert 1.0 < round_correction(57.5, "HRC", 8.0) < 2.0


def test_what_no_table_corrects_is_refused() -> None:
    with pytest.raises(ProfileError, match="too thin"):
        round_correction(60.0, "HRC", 3.0)
    with pytest.raises(ProfileError, match="grind a flat"):
        round_correction(700.0, "HV", 10.0)


def test_a_conversion_on_a_round_begins_with_the_corrected_reading(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["figure", "scale", "60HRC", "--diameter", "3/8 in"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "HRC 61" in told
    assert "HV 720" in told  # of 61 HRC, ASTM E140


def test_no_ball_tests_above_650(capsys: pytest.CaptureFixture[str]) -> None:
    """ISO 6506-1 and ASTM E10 end there; ASTM E140 prints what lies above in parentheses."""
    assert run(["figure", "scale", "60HRC"]) == 0
    assert "(654)" in capsys.readouterr().out
    assert run(["figure", "scale", "59HRC"]) == 0
    assert "634" in (told := capsys.readouterr().out)
    assert "(634)" not in told


@pytest.mark.usefixtures("own_home")
def test_a_test_of_a_part_is_kept_as_on_a_flat(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["part", "test", "punch-3", "--readings", "59.0, 61.0", "--bare-metal", "--diameter", "3/8 in"]
    assert run(words) == 0
    assert "on a round of 9.52 mm (0.375 in) 61.0 by ASTM E18" in " ".join(capsys.readouterr().out.split())
    assert run(["part", "test", "punch-3", "--files", "55 skates", "--diameter", "3/8 in"]) == 2
