"""Tempering against Hollomon and Jaffe's worked values and the measured rows of 1945, 1956 and 2010."""

import math
import statistics

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from kilnctl.errors import ProfileError
from kilnctl.treatment.steel.hardness import (
    FIT_ERROR_HRC,
    expected_hrc,
    plain_carbon_hrc,
    table_hrc,
)
from kilnctl.treatment.steel.hardness_scales import in_every_scale, parse_hardness, to_hrc
from kilnctl.treatment.steel.steels import load_steel
from kilnctl.treatment.steel.temper.dose import (
    advance_dose,
    carbon_constant,
    equal_time_s,
    parameter,
    remaining_s,
    start_dose,
)
from kilnctl.treatment.steel.temper.temper_choice import temper_choice

# Hollomon and Jaffe 1945, HRC after 900 / 9000 / 86400 s, by carbon and temper temperature (degC).
JAFFE = {
    0.56: {
        150: (61.5, 61.0, 58.5),
        200: (58.5, 56.5, 54.5),
        250: (54.5, 53.5, 50.5),
        300: (52.0, 50.5, 47.5),
        400: (45.0, 42.0, 40.5),
    },
    0.74: {
        150: (66.5, 64.5, 61.5),
        200: (62.5, 59.5, 58.5),
        250: (59.5, 58.0, 55.0),
        300: (56.5, 53.5, 51.5),
        400: (49.5, 47.5, 44.5),
    },
    0.89: {
        150: (66.5, 63.5, 62.5),
        200: (64.5, 61.5, 59.5),
        250: (60.5, 58.5, 55.5),
        300: (57.5, 54.0, 52.5),
        400: (50.5, 46.5, 44.5),
    },
    0.98: {
        150: (65.5, 64.5, 63.5),
        200: (63.5, 62.5, 60.5),
        250: (60.0, 57.5, 56.0),
        300: (56.5, 55.5, 52.5),
        400: (49.5, 45.5, 43.5),
    },
}
TIMES_S = (900.0, 9000.0, 86400.0)
# Grange and Baughman 1956, 1 h: 1080 (.82 C) and 1065 (.63 C).
GRANGE = {
    0.82: {204: 61.3, 260: 59.5, 316: 56.7, 371: 51.0},
    0.63: {204: 58.8, 260: 56.2, 316: 53.0, 371: 49.8},
}
# Penha 2010, 5160 from 61.6 HRC: (degC, s, HRC).
PENHA_5160 = [(200, 900, 59.1), (200, 9000, 55.2), (250, 3600, 52.2), (300, 3600, 50.0), (400, 3600, 43.7)]

ROWS = [
    (carbon, at_c, time_s, hrc)
    for carbon, table in JAFFE.items()
    for at_c, row in table.items()
    for time_s, hrc in zip(TIMES_S, row, strict=True)
]


def test_fit_against_the_measured_plain_carbon_steels() -> None:
    """The fit claims an rms of 0.83 and a worst of 2.4 HRC on its rows; 1.55 leaving a steel out."""
    rows = ROWS + [(c, t, 3600.0, hrc) for c, table in GRANGE.items() for t, hrc in table.items()]
    misses = []
    for carbon, at_c, time_s, hrc in rows:
        fitted = plain_carbon_hrc(carbon, at_c, time_s)
        if fitted is not None:
            misses.append(fitted - hrc)
    assert len(misses) > 50
    assert math.sqrt(statistics.fmean(m * m for m in misses)) < 1.0
    assert max(abs(m) for m in misses) < 2.6
    assert math.sqrt(statistics.fmean(m * m for m in misses)) < FIT_ERROR_HRC


@pytest.mark.parametrize(("at_c", "time_s"), [(120, 7200), (450, 7200), (200, 60), (200, 3e5)])
def test_fit_says_nothing_outside_its_range(at_c: float, time_s: float) -> None:
    assert plain_carbon_hrc(0.84, at_c, time_s) is None


def test_alloy_steel_must_not_use_the_fit() -> None:
    """Penha 2010: 5160 lies some 3 HRC below it, and the product does not offer it for such a grade."""
    misses = [(plain_carbon_hrc(0.62, t, s) or 0.0) - hrc for t, s, hrc in PENHA_5160]
    assert statistics.fmean(misses) > 2.0
    assert not any("fit on" in e.source for e in expected_hrc(load_steel("5160"), 205, 7200))


@pytest.mark.parametrize(("at_c", "time_s", "hrc"), PENHA_5160)
def test_5160_card_covers_the_measured_rows(at_c: float, time_s: float, hrc: float) -> None:
    found = expected_hrc(load_steel("5160"), at_c, time_s)
    assert min(e.low_hrc for e in found) - 0.5 <= hrc <= max(e.high_hrc for e in found) + 0.5


def test_the_data_favour_a_constant_near_sixteen_and_reject_twenty() -> None:
    """Hardness below 320 degC as a smooth function of T(C + log t), each steel with its own offset."""
    rows = [(c, t, s, h) for c, t, s, h in ROWS if t < 320]
    steels = list(JAFFE)

    def scatter(constant: float) -> float:
        offsets = np.array([[float(c == steel) for steel in steels] for c, *_ in rows])
        p = np.array([parameter(t, s, constant) for _, t, s, _ in rows])
        basis = np.column_stack([offsets, p, p**2])
        hardness = np.array([h for *_, h in rows])
        solution, *_ = np.linalg.lstsq(basis, hardness, rcond=None)
        return float(np.sqrt(np.mean((basis @ solution - hardness) ** 2)))

    best = minimize_scalar(scatter, bounds=(8, 25), method="bounded").x
    assert 14.0 < best < 18.0
    assert scatter(20.0) > 1.1 * scatter(best)


def test_carbon_constant_is_the_published_one_turned_into_hours() -> None:
    """17.7 - 5.8 %C holds for seconds (gear carburising model); log10 3600 = 3.556 makes it 21.3 in hours."""
    assert carbon_constant(0.84) == pytest.approx(17.7 + math.log10(3600.0) - 5.8 * 0.84, abs=0.05)
    assert carbon_constant(0.95) == pytest.approx(15.79, abs=0.01)


# Outside: pairs of Hollomon and Jaffe's own rows whose hardness is equal to half a point, below 320 degC.
PAIRS = [
    (a, b)
    for a in ROWS
    for b in ROWS
    if a[0] == b[0] and a[1] < b[1] <= 300 and abs(a[3] - b[3]) <= 0.5 and a[3] > 50.0
]


def test_equal_hardness_is_equal_time_in_the_measured_rows() -> None:
    """The colder temper of a pair takes, by the middle of all pairs, the time that C near 16 foretells.

    Half a point of hardness is a factor of two or more in time, so single pairs scatter; the middle does not.
    """
    assert len(PAIRS) >= 9
    misses = [math.log10(equal_time_s(b[1], b[2], a[1], 16.0) / a[2]) for a, b in PAIRS]
    assert abs(statistics.median(misses)) < 0.4
    far = [math.log10(equal_time_s(b[1], b[2], a[1], 20.0) / a[2]) for a, b in PAIRS]
    assert abs(statistics.median(far)) > abs(statistics.median(misses))


def test_two_equal_tempers_add_as_time() -> None:
    """2 x 2 h at 200 degC is 4 h there, or one hour at 214.2 degC (C = 20)."""
    assert parameter(214.2, 3600) == pytest.approx(parameter(200, 4 * 3600), abs=0.001)
    dose = start_dose(200.0, 4 * 3600.0, 0.95)
    dose = advance_dose(advance_dose(dose, 200.0, 7200.0), 200.0, 7200.0)
    assert remaining_s(dose) == pytest.approx(0.0, abs=1e-6)


def test_power_cut_in_a_temper() -> None:
    """75 min done, 40 min dark (an oven of 25.6 min time constant falls to 62 degC), back at 8 degC/min:
    42.4 min remain with C = 20 and 41.8 with C = 16.43; the longer counts (worked for this project)."""
    dose = advance_dose(start_dose(218.0, 7200.0, 0.84), 218.0, 75 * 60.0)
    at_c = 218.0
    for second in range(2400):
        at_c = 20.0 + 198.0 * math.exp(-(second + 0.5) / (4000.0 / 2.6))
        dose = advance_dose(dose, at_c, 1.0)
    assert at_c == pytest.approx(62, abs=1)
    while at_c < 218.0:
        at_c += 8.0 / 60.0
        dose = advance_dose(dose, min(at_c, 218.0), 1.0)
    assert (7200.0 - dose.equivalent20_s) / 60 == pytest.approx(42.4, abs=0.1)
    assert (7200.0 - dose.equivalent_c_s) / 60 == pytest.approx(41.8, abs=0.1)
    assert remaining_s(dose) / 60 == pytest.approx(42.4, abs=0.1)


# ASTM E140, HRC 68 down to 20, as two reproductions print it (ASTM A370-03a sheet; a tester seller's chart).
E140 = [
    940, 900, 865, 832, 800, 772, 746, 720, 697, 674, 653, 633, 613, 595, 577, 560, 544, 528, 513, 498, 484,
    471, 458, 446, 434, 423, 412, 402, 392, 382, 372, 363, 354, 345, 336, 327, 318, 310, 302, 294, 286, 279,
    272, 266, 260, 254, 248, 243, 238,
]  # fmt: skip


def test_vickers_is_the_standards_and_near_an_independent_fit() -> None:
    """HV = (223 HRC + 14500)/(100 - HRC), published, is within 3.5 HV from 20 to 64 HRC."""
    for hrc, hv in zip(range(68, 19, -1), E140, strict=True):
        assert in_every_scale(hrc, "HRC")["HV"] == hv
        assert to_hrc(hv, "HV") == hrc
        assert hrc > 64 or hv == pytest.approx((223 * hrc + 14500) / (100 - hrc), abs=3.5)


@pytest.mark.parametrize(
    ("hrc", "hbw", "hra"),
    [
        *((65, 739, 83.9), (60, 654, 81.2), (57, 595, 79.6), (50, 481, 75.9), (45, 421, 73.1)),
        *((40, 371, 70.4), (36, 336, 68.4), (29, 279, 64.8), (24, 247, 62.4), (20, 226, 60.5)),
    ],
)
def test_brinell_and_rockwell_a_of_the_chart(hrc: int, hbw: float, hra: float) -> None:
    """ASTM E140 as a tester seller's chart prints it: carbide ball, and the A scale at 60 kgf."""
    found = in_every_scale(hrc, "HRC")
    assert (found["HBW"], found["HRA"]) == (hbw, hra)


@pytest.mark.parametrize(("hb", "hrc"), [(627, 58.6), (555, 54.7), (461, 48.4), (341, 36.6)])
def test_brinell_of_the_handbooks_5160_bar(hb: float, hrc: float) -> None:
    """ASM's quenched and tempered 25 mm bar of 5160; 341 HB with its 36.6 HRC stands in a reprint of 5160
    values, the others are from memory.
    """
    assert to_hrc(hb, "HBW") == pytest.approx(hrc, abs=0.5)


@pytest.mark.parametrize(
    ("said", "hrc"),
    [
        ("60", (60, 60)),
        ("60-62 HRC", (60, 62)),
        ("700HV10", (60, 60.2)),
        ("HV 653", (58, 58)),
        ("81.2 hra", (60, 60)),
    ],
)
def test_a_hardness_is_read_in_the_scale_it_was_written_in(said: str, hrc: tuple[float, float]) -> None:
    assert parse_hardness(said).hrc() == pytest.approx(hrc, abs=0.2)


@pytest.mark.parametrize("said", ["12", "75", "62-60", "95HRB", "1200HV", "700", "soft", "60 HRD"])
def test_what_is_no_hardness_of_a_hard_steel_is_refused(said: str) -> None:
    with pytest.raises(ProfileError):
        parse_hardness(said).hrc()


# Published ladders against the measured series, inside the +-2 HRC that the product states.
@pytest.mark.parametrize("at_c", [204, 232, 260, 288, 316])
def test_1095_ladder_agrees_with_the_measured_series(at_c: float) -> None:
    table = table_hrc(load_steel("1095").temper_table[0], at_c)
    fitted = plain_carbon_hrc(0.95, at_c, 3600.0)
    assert table is not None
    assert fitted is not None
    assert table[0] - 2.0 <= fitted <= table[1] + 2.0


@pytest.mark.parametrize("at_c", [204, 260, 316])
def test_w2_ladder_agrees_with_the_measured_series(at_c: float) -> None:
    table = table_hrc(load_steel("W2").temper_table[0], at_c)
    fitted = plain_carbon_hrc(1.0, at_c, 3600.0)
    assert table is not None
    assert fitted is not None
    assert table[0] == pytest.approx(fitted, abs=2.0)


@pytest.mark.parametrize(("at_c", "measured"), [(204, 61.3), (260, 59.5), (316, 56.7), (371, 51.0)])
def test_1080_card_shows_the_measured_series(at_c: float, measured: float) -> None:
    """Grange and Baughman 1956."""
    found = expected_hrc(load_steel("1080"), at_c, 3600.0)
    assert min(e.low_hrc for e in found) <= measured <= max(e.high_hrc for e in found)


def test_the_usual_edge_temper_of_o1() -> None:
    """Two tempers of two hours near 218 degC for 60-62 HRC: common practice, and inside the data sheets."""
    choice = temper_choice(load_steel("O1"), (60, 62))
    assert choice.low_c <= 218 <= choice.high_c
