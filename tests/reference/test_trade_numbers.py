"""The guide's page of trade numbers, against formulas and cards: what can be computed must agree."""

import math
import re

import pytest

from kilnctl.guide.pages import page
from kilnctl.guide.search import search
from kilnctl.model.steel_heat import heat_content_j_per_kg
from kilnctl.treatment.steel.formulas import after_quench
from kilnctl.treatment.steel.soft_skin import quick_m2_per_s, slow_m2_per_s
from kilnctl.treatment.steel.steels import load_steel

TEXT = page("trade-numbers").text()


def row(begins: str) -> str:
    return next(line for line in TEXT.splitlines() if line.startswith(f"| {begins}"))


def first_span_c(text: str) -> tuple[float, float]:
    low, high = re.findall(r"(\d+) to (\d+) °C", text)[0]
    return float(low), float(high)


@pytest.mark.parametrize(
    ("begins", "grade", "heat_c"),
    [
        ("O1, O2", "O1", 800),
        ("52100 | 200", "52100", 845),
        ("1075 to 1095", "1084", 810),
        ("5160", "5160", 830),
    ],
)
def test_a_martempering_bath_is_not_far_from_ms(begins: str, grade: str, heat_c: float) -> None:
    """Ms by van Bohemen, good to 20 K; above it at most 60 K, or bainite comes quickly."""
    low_c, high_c = first_span_c(row(begins))
    quenched = after_quench(load_steel(grade), heat_c)
    assert quenched is not None
    assert quenched.ms_c - 25.0 <= low_c
    assert high_c <= quenched.ms_c + 60.0


def test_what_a_blade_does_to_its_plates() -> None:
    """3 kg of aluminium at 0.90 kJ/(kg K) (handbooks); the blade's heat by EN 1993-1-2:2005, 3.4.1.2."""
    given_j = 0.25 * (heat_content_j_per_kg(1060.0) - heat_content_j_per_kg(80.0))
    plates_kg = 2 * 3.0 * 0.75 * 0.25 * 2.70
    assert plates_kg == pytest.approx(3.0, abs=0.1)
    assert given_j / (plates_kg * 900.0) == pytest.approx(60.0, abs=8.0)


def test_carbon_across_a_thin_layer() -> None:
    """It has evened out across a layer when 4 D t is its thickness squared (textbook); D as in soft_skin."""
    times = [(1e-4) ** 2 / (4 * d) for d in (slow_m2_per_s(1150.0), quick_m2_per_s(1150.0, 0.8))]
    assert min(times) < 15.0 < max(times) * 1.5


def test_falling_heats_end_above_austenite_and_fall() -> None:
    for line in TEXT[TEXT.index("Normalising in falling heats") :].splitlines():
        heats = re.findall(r"(\d{3}), (\d{3}), (\d{3}) °C", line)
        assert all(float(a) > float(b) > float(c) >= 755.0 for a, b, c in heats)


def test_both_scales_of_the_colours_agree() -> None:
    """30 °F are 17 K: nobody sees closer."""
    for line in TEXT[TEXT.index("| glow |") : TEXT.index("## Water")].splitlines():
        numbers = [float(n) for n in re.findall(r"\d{3,4}", line)]
        for c, f in zip(numbers[: len(numbers) // 2], numbers[len(numbers) // 2 :], strict=True):
            assert math.isclose(c * 1.8 + 32.0, f, abs_tol=30.0), line


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ("how much salt for brine", "5 to 10 %"),
        ("martemper O1 bath temperature", "200 to 220"),
        ("austemper 5160 hardness", "48 to 51"),
        ("nitrate salt temperature range", "160 to 550"),
        ("how thick clay for a hamon", "2 to 3 mm"),
        ("draw the tang soft how hot", "350 to 400"),
        ("1084 15N20 damascus heat", "800 to 815"),
        ("forge weld temperature", "1150 to 1250"),
        ("cherry red temperature", "720 to 790"),
        ("normalise 1095 falling heats", "870, 815, 760"),
        ("how hot do quench plates get", "60 K"),
        ("tempering time per inch", "1 h for each 25 mm"),
        ("how long in liquid nitrogen", "-196"),
        ("convert 45 HRC to vickers", "figure scale"),
    ],
)
def test_the_guide_finds_them_by_a_maker_s_words(asked: str, says: str) -> None:
    assert any(says in passage.told() for passage in search(asked.split()))
