"""Which steels a bench can harden, against what the trade says of each (common practice, no single source).

Written before the answer existed. A steel is expected only where no practitioner would argue: shallow steels
want water or, thin, a fast oil; O1 cracks in either; the air-hardening and stainless grades need plates and a
furnace far above 900 °C; a spring steel makes no 64 HRC.
"""

import pytest

from kilnctl.config.home import known
from kilnctl.treatment.steel.steels import load_steel
from kilnctl.treatment.steel_selection import Bench, Choice, choose

SIXTY = (59.0, 61.0)
OIL = Bench(SIXTY, section_mm=3.0, media=("medium oil",), furnace_c=900.0)
FAST = Bench(SIXTY, section_mm=3.0, media=("fast oil",), furnace_c=900.0)
WATER = Bench(SIXTY, section_mm=3.0, media=("water or brine",), furnace_c=900.0)
PLATES = Bench(SIXTY, section_mm=3.0, media=("plates",), furnace_c=1100.0)

ROWS = (
    (OIL, {"O1", "52100", "80CrV2"}, {"A2", "D2", "AEB-L", "14C28N", "440C", "W1", "W2", "1095", "1084"}),
    (FAST, {"1084", "1080", "1095", "W1", "W2"}, {"O1", "52100", "A2", "D2", "AEB-L"}),
    (WATER, {"W1", "W2", "1095", "1084"}, {"O1", "52100", "5160", "80CrV2", "A2", "AEB-L"}),
    (PLATES, {"A2", "D2", "AEB-L", "14C28N"}, {"O1", "1095", "1084", "5160", "52100", "W2"}),
)


def answers(bench: Bench) -> dict[str, Choice]:
    return {path.stem: choose(load_steel(path), bench) for path in known("steels").values()}


@pytest.mark.parametrize(("bench", "fit", "do_not"), ROWS, ids=("oil", "fast oil", "water", "plates"))
def test_what_a_bench_can_harden(bench: Bench, fit: set[str], do_not: set[str]) -> None:
    found = answers(bench)
    assert {grade for grade in fit if not found[grade].fits} == set()
    assert {grade for grade in do_not if found[grade].fits} == set()


def test_each_refusal_says_why_and_each_answer_how() -> None:
    for choice in answers(OIL).values():
        assert bool(choice.in_the_way) is not choice.fits
        if choice.fits:
            assert choice.temper is not None
            assert choice.medium == "medium oil"


def test_no_spring_steel_makes_64_hrc_and_no_stainless_steel_of_440c_makes_62() -> None:
    bench = Bench((64.0, 65.0))
    for grade in ("5160", "8670", "15N20", "440C"):
        assert not choose(load_steel(grade), bench).fits, grade
    assert not choose(load_steel("440C"), Bench((62.0, 63.0))).fits


def test_a_shallow_steel_of_12_mm_is_not_for_fast_oil() -> None:
    found = choose(load_steel("1084"), Bench(SIXTY, section_mm=12.0, media=("fast oil",)))
    assert not found.fits
    assert "6.35 mm" in found.in_the_way[0]


def test_stainless_wants_foil_and_water_is_never_without_its_word() -> None:
    assert any("foil" in need for need in choose(load_steel("AEB-L"), PLATES).needs)
    assert any("crack" in need for need in choose(load_steel("W1"), WATER).needs)


def test_foil_is_never_named_for_a_bath() -> None:
    """Foil has to come off before oil, which takes longer than a blade allows (common practice)."""
    for grade in ("440C", "AEB-L"):
        needs = " ".join(choose(load_steel(grade), Bench(SIXTY, media=("fast oil", "medium oil"))).needs)
        assert "a coating" in needs, grade
        assert "foil must come off" in needs, grade
    assert "plates" in " ".join(choose(load_steel("AEB-L"), Bench(SIXTY, media=("fast oil",))).needs)


def test_a_small_tempering_oven_is_in_the_way_of_a_soft_goal() -> None:
    goal = (45.0, 47.0)  # 430-460 °C on most ladders
    assert choose(load_steel("5160"), Bench(goal)).fits
    found = choose(load_steel("5160"), Bench(goal, temper_c=250.0))
    assert not found.fits
    assert "240" in " ".join(found.in_the_way)  # its limit less 10 K
