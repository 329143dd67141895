"""Cards of shafts, springs, struck and hot tools, strip and silver steel, against tables of other books.

From memory throughout: hardened and tempered bars of the ASM Metals Handbook in HB, the table of tool steels
in ASM (tempers and working hardness), strengths of EN ISO 683-1. The conversion is ASTM E140.
"""

import json

import pytest

from kilnctl.cli.main import run
from kilnctl.treatment.steel.formulas import andrews_ac1_c, andrews_ac3_c, andrews_ms_c, composition
from kilnctl.treatment.steel.hardness_scales import in_every_scale
from kilnctl.treatment.steel.steels import load_steel

pytestmark = pytest.mark.usefixtures("own_home")


def hardness(capsys: pytest.CaptureFixture[str], grade: str, at_c: float) -> tuple[float, float]:
    assert run(("figure", "hardness", f"{at_c}C", "2h", "--steel", grade, "--json")) == 0
    said = json.loads(capsys.readouterr().out)
    return said["low_hrc"], said["high_hrc"]


@pytest.mark.parametrize(
    ("grade", "at_c", "hbw"),
    [
        *(("4140", 205, 510), ("4140", 315, 445), ("4140", 425, 370), ("4140", 540, 285)),
        *(("6150", 205, 538), ("6150", 315, 483), ("6150", 425, 420), ("6150", 540, 345)),
    ],
)
def test_a_bar_of_the_handbook_is_within_what_the_card_says(
    grade: str, at_c: float, hbw: float, capsys: pytest.CaptureFixture[str]
) -> None:
    low, high = hardness(capsys, grade, at_c)
    assert low - 1.0 <= in_every_scale(hbw, "HBW")["HRC"] <= high + 1.0


# Temper range in degC, and the hardest and softest working hardness of the table.
TOOLS = {"S7": (205, 620, 57, 45), "H13": (540, 650, 53, 38), "L6": (175, 540, 62, 45)}


@pytest.mark.parametrize("grade", TOOLS)
def test_the_ends_of_the_working_hardness_of_tool_steels(
    grade: str, capsys: pytest.CaptureFixture[str]
) -> None:
    cold_c, hot_c, hard, soft = TOOLS[grade]
    for at_c, hrc in ((cold_c, hard), (hot_c, soft)):
        low, high = hardness(capsys, grade, at_c)
        assert low - 2.0 <= hrc <= high + 2.0


def test_c45_tempered_for_strength(capsys: pytest.CaptureFixture[str]) -> None:
    """C45E +QT, thin: 700 to 850 MPa, tempered at 550 to 660 degC (EN ISO 683-1)."""
    low, _ = hardness(capsys, "1045", 650)
    assert 700 <= in_every_scale(low, "HRC")["MPa"] <= 850


@pytest.mark.parametrize(("grade", "slack_k"), [("4140", 25.0), ("6150", 35.0), ("1045", 25.0)])
def test_critical_points_by_andrews(grade: str, slack_k: float) -> None:
    """Andrews 1965; his own points scatter by some 15 K."""
    card = load_steel(grade)
    percent = composition(card)
    points = (("Ac1", andrews_ac1_c), ("Ac3", andrews_ac3_c), ("Ms", andrews_ms_c))
    for name, formula in points:
        low_c, high_c = card.point_c(name) or (0.0, 0.0)
        assert low_c - slack_k <= formula(percent) <= high_c + slack_k, name


@pytest.mark.parametrize(
    ("name", "grade"),
    [("42CrMo4", "4140"), ("51CrV4", "6150"), ("C45", "1045"), ("1.2344", "H13"), ("X50CrMoV15", "1.4116")],
)
def test_european_names_of_the_same_grade(name: str, grade: str) -> None:
    """EN 10027 and EN ISO 4957: numbers and names of one grade."""
    assert load_steel(name).grade == grade
