"""A temper on top of another: Hollomon and Jaffe 1945, steps added at equal parameter."""

import json
from typing import Any

import pytest

from kilnctl.cli.main import run


def asked(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    assert run(["figure", "hardness", *words, "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def test_a_second_temper_counts_and_the_loss_is_told_source_by_source(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """By hand, 0.95 % C, 260 °C 1 h and 204 °C 2 h: 1.039 h at 260 °C (C = 16), P 8.539, 58.8 HRC.

    204 °C 2 h alone: P 7.779, 61.8 HRC, so 3.0 are lost.
    """
    found = asked(capsys, "260C", "1h", "--then", "204C 2h", "--carbon", "0.95")
    assert (found["low_hrc"] + found["high_hrc"]) / 2.0 == pytest.approx(58.8, abs=0.1)
    assert list(found["lost_hrc"].values()) == [pytest.approx(3.0, abs=0.1)]
    by_card = asked(capsys, "260C", "1h", "--then", "204C 2h", "--steel", "1095")
    assert len(by_card["lost_hrc"]) == 3  # two tables and the fit
    assert all(lost > 1.0 for lost in by_card["lost_hrc"].values())


def test_the_order_does_not_count_and_two_equal_tempers_are_one_of_both_times(
    capsys: pytest.CaptureFixture[str],
) -> None:
    one = asked(capsys, "260C", "40min", "--then", "2 h at 205 C", "--steel", "O1")
    other = asked(capsys, "205C", "2h", "--then", "260C 40min", "--steel", "O1")
    assert (one["low_hrc"], one["high_hrc"]) == (other["low_hrc"], other["high_hrc"])
    twice = asked(capsys, "205C", "1h", "--then", "205C 1h", "--steel", "O1")
    once = asked(capsys, "205C", "2h", "--steel", "O1")
    assert twice["low_hrc"] == pytest.approx(once["low_hrc"])


def test_what_is_no_temper_is_refused_in_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["figure", "hardness", "260C", "1h", "--then", "205C", "--steel", "O1"]) == 2
    assert '--then "205C 2h"' in capsys.readouterr().err


def test_the_guide_leads_there(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["guide", "O1 temper ran to 260 C then a second temper at 205 C how hard is it now"]) == 0
    assert 'figure hardness 260C 40min --then "205C 2h" --steel O1`' in capsys.readouterr().out
