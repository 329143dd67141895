"""Forging heats, hold below Ac1, soft scales and the thinnest part for a tester, against printed tables.

Written before the program had any of them.
"""

import pytest

from kilnctl.config.home import known
from kilnctl.treatment.steel.hardness import expected_hrc
from kilnctl.treatment.steel.hardness_scales import in_every_scale, parse_hardness, thinnest_mm
from kilnctl.treatment.steel.steels import ac1_c, load_steel
from kilnctl.treatment.steel.temper.temper_choice import temper_choice

# Start and stop of forging as sheets print it: O1 of a distributor, a foundry and the UK; A2, D2 of knife and
# materials pages; 5160 of the ASM manual as a bladesmith society quotes it; EN31 (52100) of a stockist.
# 1080 and 1095 (top and stop) of a bladesmith's data pages, 1095 a second time of a knife-steel seller.
FORGED = [
    ("O1", 982, 1066, 843),
    ("O1", 1010, 1066, 816),
    ("O1", 980, 1000, 800),
    ("A2", 913, 1093, 899),
    ("D2", 954, 1065, 926),
    ("5160", 870, 1205, 870),
    ("52100", 1000, 1050, 850),
    ("1080", 982, 1175, 815),
    ("1095", 1010, 1150, 815),
]


@pytest.mark.parametrize(("grade", "low_c", "high_c", "stop_c"), FORGED)
def test_the_forging_heats_of_the_sheets(grade: str, low_c: float, high_c: float, stop_c: float) -> None:
    """The card's hottest start is in or under a sheet's range by 60 K at most; its stop within 50 K."""
    forge = load_steel(grade).forge
    assert any(abs(claim.high_c - high_c) <= 60.0 for claim in forge)
    stops = [claim.stop_c for claim in forge if claim.stop_c is not None]
    assert any(abs(stop - stop_c) <= 50.0 for stop in stops)
    assert all(claim.low_c < claim.high_c for claim in forge)


def test_every_forging_heat_ends_above_austenite_and_starts_below_burning() -> None:
    """No plain steel of 0.7 to 1 % C is safe above 1200 °C; solidus near 1350 °C (iron-carbon diagram)."""
    for path in known("steels").values():
        steel = load_steel(path)
        for claim in steel.forge:
            assert claim.high_c <= 1205.0
            assert claim.stop_c is None or claim.stop_c > (ac1_c(steel) or 700.0)


def test_every_grade_that_can_be_filed_has_a_hold_below_ac1() -> None:
    """A hard part is softened below the start of austenite; 440C by its maker at 732-760 °C."""
    for path in known("steels").values():
        steel = load_steel(path)
        below = [a for a in steel.anneal if a.type in ("subcritical", "spheroidise")]
        assert below, steel.grade
        start_c = ac1_c(steel)
        assert start_c is None or min(a.low_c for a in below) < start_c, steel.grade


def test_the_transformation_points_of_440c_are_the_printed_ones() -> None:
    """A dealer's table of a Japanese maker's SUS440C (0.95-1.20 % C, 16-18 % Cr): Ac 804, Ms 171 degC."""
    points = {claim.point: claim.middle_c for claim in load_steel("440C").points}
    assert points == {"Ac1": 804.0, "Ms": 171.0}


# HV, HBW, HRB: the German standard's table (DIN 50150, now ISO 18265) and a spring maker's chart.
SOFT = [
    *((150, 143, 77), (170, 162, 84), (190, 181, 88.6), (200, 190, 90.9), (210, 199, 93), (230, 219, 97)),
    *((202, 201, 94), (183, 183, 90), (163, 163, 85), (146, 146, 80), (223, 223, 97)),
]


@pytest.mark.parametrize(("hv", "hb", "hrb"), SOFT)
def test_soft_steel_is_read_in_every_scale(hv: float, hb: float, hrb: float) -> None:
    """The two charts differ by 5 % in Brinell and by 4 HRB at 150 HV, so no more is asked."""
    assert in_every_scale(hv, "HV")["HRB"] == pytest.approx(hrb, abs=3.0)
    assert in_every_scale(hb, "HBW")["HRB"] == pytest.approx(hrb, abs=4.0)
    assert in_every_scale(hv, "HV")["HBW"] == pytest.approx(hb, rel=0.06)
    assert "HRC" not in in_every_scale(hv, "HV")


def test_a_sheets_annealed_brinell_is_read() -> None:
    """O1 annealed 183-212 HB (distributor's sheet)."""
    written = parse_hardness("183-212HB")
    low, high = (in_every_scale(x, written.scale)["HRB"] for x in (written.low, written.high))
    assert 88.0 < low < high < 97.0


# ASTM E18, thinnest part for the C scale: mm, softest HRC.
E18 = [
    *((0.56, 69), (0.61, 67), (0.66, 65), (0.71, 62), (0.76, 57), (0.81, 52), (0.86, 45), (0.91, 37)),
    *((0.96, 28), (1.02, 20)),
]


@pytest.mark.parametrize(("mm", "hrc"), E18)
def test_the_thinnest_part_for_a_tester(mm: float, hrc: float) -> None:
    """Ten times the depth of the dent (ISO 6508-1 says the same of a cone): table of ASTM E18 as printed."""
    assert thinnest_mm(hrc) == pytest.approx(mm, abs=0.006)
    # a dent is (100 - HRC) x 2 µm deep, and ten times that is 0.8 mm at 60: the table is near it, 25 % below
    assert thinnest_mm(hrc) <= 10 * (100 - hrc) * 0.002 + 0.1


def test_two_rows_334_k_apart_say_nothing_of_a_secondary_hardening() -> None:
    """D2: a stockist's ladder 150-400 °C, and 58-60 HRC near 510 °C after a cold treatment (steel seller)."""
    d2 = load_steel("D2")
    for at_c, low, high in ((200, 60, 61), (250, 59, 60), (300, 56, 57), (400, 55, 56), (510, 58, 60)):
        found = expected_hrc(d2, at_c, 7200.0)
        assert any(e.low_hrc <= high and e.high_hrc >= low for e in found), at_c
        assert at_c == 200 or all("D2 seller page" not in e.source for e in found), at_c
    assert 205.0 <= temper_choice(d2, (60.0, 60.0)).at_c <= 265.0
