"""All cards and goals: softer is never cooler; where the answer does not move with the goal, it says why."""

from functools import cache

import pytest

from kilnctl.config.home import known
from kilnctl.errors import ProfileError
from kilnctl.treatment.steel.steels import load_steel
from kilnctl.treatment.steel.temper.temper_choice import TemperChoice, temper_choice

pytestmark = pytest.mark.begins_first
GRADES = sorted(known("steels"))
GOALS = [half / 2 for half in range(140, 39, -1)]  # 70 to 20 HRC, softer and softer


@cache  # two tests read the same
def choices(
    grade: str, width: float = 0.0, highest_c: float | None = None
) -> list[tuple[float, TemperChoice]]:
    steel, found = load_steel(grade), []
    for goal in GOALS:
        try:
            found.append((goal, temper_choice(steel, (goal, goal + width), highest_c)))
        except ProfileError as e:
            said = str(e)
            assert any(words in said for words in ("out of reach", "goes as soft", "one row only")), said
    return found


@pytest.mark.parametrize(("width", "highest_c"), [(0.0, None), (2.0, None), (0.0, 260.0)])
@pytest.mark.parametrize("grade", GRADES)
def test_a_softer_goal_is_never_given_a_cooler_temper(
    grade: str, width: float, highest_c: float | None
) -> None:
    tempers_c = [choice.at_c for _, choice in choices(grade, width, highest_c)]
    assert tempers_c == sorted(tempers_c)


@pytest.mark.parametrize("grade", GRADES)
def test_goals_a_point_apart_share_a_temper_only_where_it_is_said(grade: str) -> None:
    found = dict(choices(grade, 0.0, None))
    for goal, choice in found.items():
        softer = found.get(goal - 1.0)
        if softer is not None and softer.at_c == choice.at_c:
            assert choice.held or softer.held, f"{goal} HRC: {choice}"


def test_60_and_62_of_1095() -> None:
    """62 is read from the table; the middle of 60 lies in the card's avoid band, and it is said."""
    hard, soft = (temper_choice(load_steel("1095"), (goal, goal)) for goal in (62.0, 60.0))
    assert hard.at_c == 218.0
    assert not hard.held
    assert soft.at_c == 225.0
    assert "253 °C" in soft.held
    assert "toughness is lost" in soft.held
