"""The cards against the sheets they quote, where a number is scaled, chosen or named by the planner."""

import pytest
from trade_plans import bench, profiled

from kilnctl.cli.plan.steel.steel_card_page import card_rows, said_of
from kilnctl.config.home import known
from kilnctl.profile.segments import Profile, Soak
from kilnctl.treatment.steel.cooling_names import Exposure, exposure_note
from kilnctl.treatment.steel.formulas import after_quench
from kilnctl.treatment.steel.steels import ac1_c, load_steel
from kilnctl.treatment.steel.windows import ROUNDED_K, hardening_heats_c

GRADES = sorted(known("steels"))


def soaks(made: Profile, purpose: str) -> list[Soak]:
    return [s for s in made.segments if isinstance(s, Soak) and s.purpose == purpose]


@pytest.mark.parametrize(
    ("steel", "section_mm", "hours"),
    [
        ("A2", 60.0, 2.0 * 60.0 / 25.4),
        ("A2", 10.0, 2.0),
        ("D2", 76.2, 3.0),
        ("D2", 30.0, 2.0),
        ("440C", 76.2, 3.0),
    ],
)
def test_tempers_by_the_inch(steel: str, section_mm: float, hours: float) -> None:
    """A2 two hours per inch (service company); D2 and 440C one hour per inch, two at least (mill sheets)."""
    made = profiled(bench(steel, {"do": "temper", "at": "250 C"}, section=f"{section_mm} mm"))
    assert soaks(made, "temper")[0].soak_s == pytest.approx(hours * 3600.0, rel=0.01)


@pytest.mark.parametrize(("section_mm", "minutes"), [(4.0, 25.0), (50.8, 60.0)])
def test_o1_soaks_half_an_hour_an_inch(section_mm: float, minutes: float) -> None:
    """O1: 30 min per inch, 20 min at least (tool-steel service company)."""
    made = profiled(
        bench("O1", {"do": "harden"}, {"do": "temper", "at": "200 C"}, section=f"{section_mm} mm")
    )
    assert soaks(made, "harden")[0].soak_s == pytest.approx(minutes * 60.0, rel=0.01)


@pytest.mark.parametrize("grade", GRADES)
@pytest.mark.parametrize("kind", ["spheroidise", "subcritical"])
def test_a_chosen_hold_below_ac1_is_below_it(grade: str, kind: str) -> None:
    """Equilibrium start of austenite (open database) and the sensor's class: ten kelvin below the lowest."""
    steel = load_steel(grade)
    start_c = ac1_c(steel)
    claims = [c for c in steel.anneal if c.type == kind]
    if not claims or start_c is None or claims[0].low_c > start_c:
        return
    made = profiled(bench(grade, {"do": "anneal", "type": kind}))
    assert soaks(made, "anneal")[0].at_c <= start_c - 10.0


def test_1080_never_holds_more_carbon_than_it_has() -> None:
    """0.80 % C all dissolved from 751 degC; van Bohemen 217 degC, measured near 220 (from memory)."""
    for grade in GRADES:
        steel = load_steel(grade)
        assert all(row.percent <= steel.carbon + 0.001 for row in steel.dissolved), grade
    expected = after_quench(load_steel("1080"), 810.0)
    assert expected is not None
    assert expected.ms_c == pytest.approx(217.0, abs=1.0)


def test_ar3_comes_before_ar1_on_cooling() -> None:
    for grade in GRADES:
        steel = load_steel(grade)
        ar1, ar3 = steel.point_c("Ar1"), steel.point_c("Ar3")
        assert ar1 is None or ar3 is None or ar3[0] >= ar1[1]


def test_a_long_bare_anneal_is_told_to_leave_an_allowance() -> None:
    """Scale and soft skin begin near 700-750 degC (article on coatings, 2024)."""
    assert "170 min bare above 700 °C" in exposure_note(Exposure(170 * 60.0, 0.0), 1800.0, protected=False)
    assert exposure_note(Exposure(20 * 60.0, 0.0), 1800.0, protected=False) == ""


def test_a_default_of_the_planner_is_not_put_into_a_sources_mouth() -> None:
    made = profiled(bench("1084", {"do": "normalise"}))
    (reason, source) = next((s.reason, s.source) for s in made.segments if s.label == "normalise 1: soak")
    assert "10 min" in reason
    assert "common practice" in source
    said = " ".join(
        s.reason for s in profiled(bench("52100", {"do": "anneal", "type": "spheroidise"})).segments
    )
    assert "no change of structure" not in said
    assert "795-795" not in said


def test_water_and_oil_of_the_w_steels() -> None:
    """Thin parts in oil (introduction to the W series); thick ones are water's, which nobody else chooses."""
    assert load_steel("W1").quench[0].up_to_mm == 6.0
    assert all(q.up_to_mm is not None for q in load_steel("W1").quench if q.medium == "fast oil")


# Carbon and manganese, per cent: ASTM A576-90b(2006) as reproduced, and two service-centre tables (AISI/SAE).
A576 = {
    "1080": ((0.75, 0.88), (0.60, 0.90)),
    "1084": ((0.80, 0.93), (0.60, 0.90)),
    "1095": ((0.90, 1.03), (0.30, 0.50)),
}


@pytest.mark.parametrize("grade", sorted(A576))
def test_plain_grades_have_the_limits_of_the_standard(grade: str) -> None:
    card = load_steel(grade).composition
    found = tuple((card[name].low, card[name].high) for name in ("C", "Mn"))
    assert found == A576[grade]


@pytest.mark.parametrize("grade", [g for g in GRADES if load_steel(g).dissolved])
def test_what_the_quench_leaves_is_known_over_the_whole_hardening_window(grade: str) -> None:
    """The rows themselves are held by `test_dissolved_carbon_of_the_cards_is_the_diagrams`."""
    steel = load_steel(grade)
    window = hardening_heats_c(steel)
    assert window is not None
    computed_from_c = {"O1": 785.0}.get(grade, window[0])  # nothing was computed of it below 790 °C
    for at_c in range(round(max(window[0], computed_from_c)), round(window[1] + ROUNDED_K) + 1):
        found = after_quench(steel, float(at_c))
        assert found is not None, f"{at_c} °C"
        assert 0.0 < found.carbon <= steel.carbon


@pytest.mark.parametrize("grade", sorted(known("steels")))
def test_every_normalise_of_a_card_ends_in_still_air(grade: str) -> None:
    """EN 10052, from memory: normalising is austenitising followed by cooling in still air."""
    rows = [row for row in card_rows(load_steel(grade)) if row[0] == "normalise" and row[1] != "do not"]
    for _, value, claim in rows:
        assert said_of(value, claim).count("still air") == 1
