"""What a wrong couple or lead asks for: the heat off, before anything is reckoned. NIST ITS-90 tables."""

import pytest

from kilnctl.cli.main import run


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (("850C", "N", "--set-as", "K", "--shown"), "electrical-trouble"),
        (("400C", "K", "--swapped"), "heat off"),
        (("825C", "K", "--copper-head", "60C"), "heat off"),
    ],
)
def test_a_fault_at_the_couple_says_to_switch_off(
    capsys: pytest.CaptureFixture[str], asked: tuple[str, ...], says: str
) -> None:
    assert run(["figure", "couple", *asked]) == 0
    assert says in " ".join(capsys.readouterr().out.split())


def test_a_sound_couple_is_told_nothing_of_faults(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["figure", "couple", "830C", "K"]) == 0
    assert "heat off" not in capsys.readouterr().out


def test_a_couple_that_can_never_show_the_setpoint_runs_the_oven_away(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Type S gives 13.2 mV at 1300 degC, and K as much near 323 degC (NIST ITS-90): it never shows 850."""
    assert run(["figure", "couple", "850C", "S", "--set-as", "K", "--shown"]) == 2
    said = capsys.readouterr().err
    assert "runs away" in said
    assert "Heat off" in said
    assert len(said.splitlines()) == 1
