"""Steel cards: strict, sourced, and complete for the grades that the trade here uses."""

import math
from pathlib import Path

import pytest

from kilnctl.config.home import bundled
from kilnctl.errors import ProfileError
from kilnctl.treatment.steel.sourced_values import PLAIN_SOURCES
from kilnctl.treatment.steel.steels import Steel, load_steel

GRADES = sorted(path.stem for path in bundled("steels").glob("*.toml"))
CARD = """grade = "X1"
kind = "plain carbon"
austenitise = [{ at = "800 C", source = "a sheet" }]
temper = [{ from = 2, to = 2, time = "2h", source = "common practice" }]

[sources]
"a sheet" = "the data sheet of nobody"

[composition]
C = { typical = 0.8, source = "from memory" }

[[temper_table]]
source = "a sheet"
row = [{ at = "200 C", hrc = [60, 61] }, { at = "300 C", hrc = [55, 56] }]
"""


def card(tmp_path: Path, text: str) -> Steel:
    path = tmp_path / "X1.toml"
    path.write_text(text)
    return load_steel(path)


def test_the_seventeen_grades_are_there() -> None:
    asked = "1075 1080 1084 1095 15N20 W1 W2 O1 5160 52100 80CrV2 8670 A2 D2 440C AEB-L 14C28N"
    assert set(asked.split()) <= set(GRADES)


@pytest.mark.parametrize("grade", GRADES)
def test_every_claim_has_a_source_that_the_card_explains(grade: str) -> None:
    steel = load_steel(grade)
    assert steel.grade == grade
    assert len(steel.claims()) > 10
    for _, claim in steel.claims():
        assert len(steel.cite(claim)) > 10
    assert set(steel.sources) <= {claim.source for _, claim in steel.claims()}, "a source that nothing cites"


@pytest.mark.parametrize("grade", GRADES)
def test_every_card_can_be_planned_from(grade: str) -> None:
    steel = load_steel(grade)
    assert steel.austenitise
    assert steel.temper
    assert steel.temper_table
    assert steel.quench
    assert bool(steel.normalise) != bool(steel.do_not_normalise)
    assert steel.kind in ("plain carbon", "low alloy") or steel.preheat


@pytest.mark.parametrize("grade", GRADES)
def test_no_card_tempers_or_preheats_above_its_own_window(grade: str) -> None:
    steel = load_steel(grade)
    lowest = min(band.low_c for band in steel.austenitise)
    for table in steel.temper_table:
        assert table.row[-1].at_c < lowest
    assert all(band.high_c < lowest for band in steel.preheat)


def test_memory_is_never_called_published() -> None:
    steel = load_steel("80CrV2")
    assert {claim.trust for claim in steel.normalise} == {"from memory"}
    assert {claim.trust for claim in load_steel("5160").normalise} == {"published"}


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            '{ typical = 0.8, source = "from memory" }',
            "0.8",
            "X1.toml:10: composition.C: 0.8 is a bare number",
        ),
        ('[{ at = "800 C", source = "a sheet" }]', '["800 C"]', "'800 C' is a bare number"),
        (', source = "a sheet" }]\ntemper', " }]\ntemper", "X1.toml:3: austenitise[1]: has no source"),
        ('source = "from memory"', 'source = ""', "composition.C: has no source"),
        ('source = "from memory"', 'source = "hearsay"', 'source "hearsay" is not in [sources]'),
        ('at = "800 C"', 'from = "815 C", to = "790 C"', "lies above"),
        ('at = "800 C"', 'from = "815 C"', "write either"),
        ('at = "800 C"', "at = 800", "needs a unit"),
        ('at = "800 C"', 'at = "1475 C"', "austenitise[1].at: must lie between"),
        ('at = "800 C"', 'at = "1475 C"', "did you mean 1475 F (802 C)?"),
        ('at = "800 C"', 'from = "790 C", to = "1500 C"', "austenitise[1].to: must lie"),
        ("hrc = [60, 61]", "hrc = [61, 60]", "[low, high]"),
        ("hrc = [60, 61]", "hrc = [60, 161]", "temper_table[1].row[1].hrc"),
        ('at = "300 C"', 'at = "200 C"', "must rise"),
        ("C = {", "Mn = {", "composition.C is missing"),
        ('kind = "plain carbon"', 'kind = "magic"', "X1.toml:2: kind"),
        ('grade = "X1"', 'graed = "X1"', "X1.toml:1: graed: unknown key"),
        ("typical = 0.8", "typical = nan", "composition.C.typical"),
        (CARD, "", "X1.toml: the file is empty"),
    ],
)
def test_a_card_is_refused_in_one_place(tmp_path: Path, old: str, new: str, says: str) -> None:
    assert old in CARD
    with pytest.raises(ProfileError) as e:
        card(tmp_path, CARD.replace(old, new, 1))
    assert says in str(e.value)
    assert "low_c" not in str(e.value)


def test_a_good_card_loads(tmp_path: Path) -> None:
    steel = card(tmp_path, CARD)
    assert steel.carbon == 0.8
    assert math.isclose(steel.austenitise[0].low_c, 800.0)
    assert steel.cite(steel.temper[0]) == PLAIN_SOURCES["common practice"]


@pytest.mark.parametrize(("asked", "found"), [("o1", "O1"), ("80crv2", "80CrV2"), ("AEB-l", "AEB-L")])
def test_grades_in_any_case(asked: str, found: str) -> None:
    assert load_steel(asked).grade == found


def test_unknown_grade_offers_the_nearest() -> None:
    with pytest.raises(ProfileError, match=r'no steel "10B95"; spelt like it: .*1095'):
        load_steel("10B95")


def test_a_range_below_zero_is_written_so_that_its_minus_signs_can_be_read() -> None:
    assert load_steel("14C28N").cold[0].words == "-70 to -20 °C"
