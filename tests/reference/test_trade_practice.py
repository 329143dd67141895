"""Facts of the trade and worked cases of planning.

Facts marked "common practice" have no single source. The two plants are ours, invented one-mass ovens; the
closed forms of a first-order body, as in any textbook, stand beside each check:
tau = C/UA, T* = Ta + rate tau, t = tau ln(...).
"""

import math
from dataclasses import MISSING, fields
from datetime import datetime

import pytest
from scipy.integrate import quad
from trade_plans import bench, profiled, recipe_of

from kilnctl.config.home import known
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ProfileError, RunRefused
from kilnctl.model.oven_model import OvenModel
from kilnctl.model.part import slab
from kilnctl.model.steel_heat import SteelHeat
from kilnctl.profile.segments import Operator, Profile
from kilnctl.treatment.advice import still_air_c_per_s
from kilnctl.treatment.plan_checks import check_envelope, check_steel
from kilnctl.treatment.planning import plan, plan_profile
from kilnctl.treatment.readiness import preheat_lead_s, readiness
from kilnctl.treatment.segment_forecast import Span, forecast, shut_cooling_c_per_s
from kilnctl.treatment.segments.quench_steps import CLAMPED_UP_TO_MM, FAST_OIL_S
from kilnctl.treatment.segments.segment_builders import PlanFor
from kilnctl.treatment.steel.cooling_names import Exposure, exposure_note, name_cooling, rate_700_500
from kilnctl.treatment.steel.quenching import Bath, falls_to_s
from kilnctl.treatment.steel.steels import load_steel, span_c

AMBIENT_C = 20.0
ELSEWHERE = {"do": "temper", "oven": "x", "at": "200 C"}


def one_mass(power_w: float, heat_j_per_k: float, loss_w_per_k: float) -> OvenModel:
    """Return an oven model that is one mass: nothing but a chamber face that leaks."""
    values = {f.name: 0.0 for f in fields(OvenModel) if f.default is MISSING}
    values |= {"element": 1e-3, "element_linear": 1.0, "load": 1e-6, "load_linear": 1e-3}
    values |= {"face": heat_j_per_k / power_w, "leak": loss_w_per_k / power_w}
    values |= {"wall": 1e-6, "wall_conductance": 1e-12, "sheath_s": 0.5, "junction_s": 0.5}
    return OvenModel(**values)


FURNACE = one_mass(2400.0, 18_000.0, 1.6)
OVEN = one_mass(1200.0, 4_000.0, 2.6)
FURNACE_TAU_S, OVEN_TAU_S = 18_000.0 / 1.6, 4_000.0 / 2.6


def forecast_from_cold(model: OvenModel, *segments: dict[str, str]) -> tuple[Span, ...]:
    profile = Profile.model_validate({"name": "p", "segment": segments})
    return forecast(profile, model, None, AMBIENT_C)


def oven(name: str) -> Oven:
    return load_oven(known("ovens")[name])


# --- what the oven can do ---------------------------------------------------------------------------


def test_ramp_saturates_and_arrives_late() -> None:
    """400 degC/h to 870: (P - C rate)/UA holds to 270 degC, then full power; 160 min, not 127.5."""
    (span,) = forecast_from_cold(FURNACE, {"kind": "ramp", "to": "870 C", "rate": "400 C/h"})
    turn_c = AMBIENT_C + (2400.0 - 18_000.0 * 400.0 / 3600.0) / 1.6
    ceiling_c = AMBIENT_C + 2400.0 / 1.6
    arrives_s = (turn_c - AMBIENT_C) / 400.0 * 3600.0
    arrives_s += FURNACE_TAU_S * math.log((ceiling_c - turn_c) / (ceiling_c - 870.0))
    assert turn_c == pytest.approx(270.0)
    assert span.behind_c == pytest.approx(turn_c, abs=5.0)
    assert span.duration_s == pytest.approx(arrives_s, rel=0.01)
    assert span.duration_s / 60 == pytest.approx(160, abs=2)


def test_energy_of_a_heat_up_is_what_is_stored_and_lost() -> None:
    """Full power all the way: time times power; first-order heat-up of the small oven in 14.4 min."""
    (span,) = forecast_from_cold(OVEN, {"kind": "ramp", "to": "218 C"})
    ceiling_c = AMBIENT_C + 1200.0 / 2.6
    closed_s = OVEN_TAU_S * math.log((ceiling_c - AMBIENT_C) / (ceiling_c - 218.0))
    assert closed_s / 60 == pytest.approx(14.4, abs=0.1)
    assert span.duration_s == pytest.approx(closed_s, abs=25.0)
    assert span.energy == pytest.approx(span.duration_s, rel=0.03)  # the last step eases to the goal


@pytest.mark.parametrize(("rate", "from_c", "to_c", "limit_c"), [(200, 830, 500, 645), (28, 700, 60, 107.5)])
def test_slow_cooling_ends_where_nature_is_slower(rate: int, from_c: int, to_c: int, limit_c: float) -> None:
    """T* = ambient + rate tau: 200 degC/h only above 645 degC, 28 degC/h above 107.5."""
    assert pytest.approx(limit_c, abs=0.5) == AMBIENT_C + rate / 3600.0 * FURNACE_TAU_S
    cool = {"kind": "cool", "to": f"{to_c} C", "rate": f"{rate} C/h"}
    spans = forecast_from_cold(FURNACE, {"kind": "ramp", "to": f"{from_c} C"}, cool)
    assert spans[1].behind_c == pytest.approx(limit_c, abs=4.0)


def test_cool_gate_of_the_shut_oven() -> None:
    """218 to 45 degC takes tau ln(198/25) = 53 min; at 30 min it is still at 81 degC."""
    spans = forecast_from_cold(OVEN, {"kind": "ramp", "to": "218 C"}, {"kind": "cool", "to": "45 C"})
    assert spans[1].duration_s / 60 == pytest.approx(53, abs=1.0)
    half = forecast_from_cold(OVEN, {"kind": "ramp", "to": "218 C"}, {"kind": "cool", "to": "81 C"})
    assert half[1].duration_s / 60 == pytest.approx(30, abs=1.0)


def test_finish_by() -> None:
    """READY at 15:00, 15 min of soak and a tenth in hand for the ramp: start by 11:48:54."""
    ramp = {"kind": "ramp", "to": "870 C", "rate": "400 C/h"}
    soak = {"kind": "soak", "at": "870 C", "time": "15 min"}
    quench = {"kind": "operator", "step": "quench", "say": "now", "at_most": "10 min", "hold": "870 C"}
    profile = Profile.model_validate({"name": "p", "segment": (ramp, soak, quench)})
    ready = readiness(profile, forecast(profile, FURNACE, None, AMBIENT_C))
    start = ready.start_at(datetime(2026, 11, 25, 15, 0, 0))
    assert abs((start - datetime(2026, 11, 25, 11, 48, 54)).total_seconds()) < 120
    assert ready.what == "ready to quench"


def test_tempering_oven_is_hot_before_the_quench() -> None:
    """14.4 min to 218 degC and a quarter hour to settle: for 15:00 it starts by about 14:30."""
    lead_s = preheat_lead_s(oven("tempering-oven"), OVEN, 218.0)
    assert lead_s / 60 == pytest.approx(29.4, abs=0.6)


# --- checks against steel and oven ------------------------------------------------------------------


def test_hardening_heat_on_the_tempering_oven_is_refused() -> None:
    with pytest.raises(RunRefused, match="250 °C"):
        plan(recipe_of("O1", {"do": "harden", "at": "830 C"}), load_steel("O1"), oven("tempering-oven"))


def test_830_fahrenheit_never_hardens() -> None:
    with pytest.raises(ProfileError, match=r"443 °C \(830 °F\) is below Ac1 of 1084.*will not harden"):
        plan(
            recipe_of("1084", {"do": "harden", "at": "830 F"}), load_steel("1084"), oven("hardening-furnace")
        )


def warnings_of(steel: str, name: str, *treatments: dict[str, object], **keys: object) -> str:
    """Return what is warned of a chain in an oven; no forecast is made."""
    asked = PlanFor(recipe_of(steel, *treatments, **keys), load_steel(steel), oven(name))
    profile = profiled(asked)
    check_envelope(profile, asked.oven)
    return "\n".join(warn.text for warn in check_steel(profile, load_steel(steel)))


def test_218_fahrenheit_is_too_cold_to_temper() -> None:
    """Below every ladder of the card: refused, and the slip is offered."""
    with pytest.raises(ProfileError, match=r"too cold to temper.*did you mean 218 °C\?"):
        warnings_of("O1", "tempering-oven", {"do": "temper", "at": "218 F"})


def test_425_celsius_for_58_hrc_is_warned_of_twice() -> None:
    said = warnings_of("1095", "hardening-furnace", {"do": "temper", "at": "350 C"}, goal_hrc=(57, 59))
    assert "softer than the goal" in said
    assert "toughness can drop" in said
    said = warnings_of("1095", "hardening-furnace", {"do": "temper", "at": "425 C"}, goal_hrc=(57, 59))
    assert "softer than the goal of 57-59 HRC: expect 45" in said


@pytest.mark.parametrize("at_c", [230, 300, 370])
def test_embrittlement_band(at_c: int) -> None:
    """Carbon and low-alloy steels, about 230-370 degC (thesis on 52100; another source 250-400)."""
    assert "toughness can drop" in warnings_of(
        "5160", "hardening-furnace", {"do": "temper", "at": f"{at_c} C"}
    )


@pytest.mark.parametrize("grade", ["1080", "1095"])
def test_830_on_near_eutectoid_steel_is_warned_of(grade: str) -> None:
    """Common practice: 1080 to 815 degC, 1095 about 800."""
    assert "above 815 °C" in warnings_of(
        grade,
        "hardening-furnace",
        {"do": "harden", "at": "830 C"},
        {"do": "temper", "oven": "x", "at": "200 C"},
    )


def test_830_on_5160_is_its_own_heat() -> None:
    said = warnings_of(
        "5160",
        "hardening-furnace",
        {"do": "harden", "at": "830 C"},
        {"do": "temper", "oven": "x", "at": "200 C"},
    )
    assert "austenitise range" not in said
    assert "grain" not in said


def test_normalising_heats_of_the_cards() -> None:
    """Near-eutectoid carbon steel near 870 degC (common practice)."""
    for grade in ("1075", "1080", "1084", "1095"):
        low_c, high_c = span_c(load_steel(grade).normalise) or (0, 0)
        assert low_c - 15 <= 870 <= high_c + 15


def test_1084_disagreement_is_shown() -> None:
    """In use between 800 and 830 degC, while the cards say 800-815 (common practice): both stand there."""
    bands = {(b.low_c, b.high_c) for b in load_steel("1084").austenitise}
    assert {(800.0, 815.0), (800.0, 830.0)} <= bands


def test_seven_seconds_of_fast_oil_are_for_thin_sections_only() -> None:
    """Common practice: about seven seconds in a fast oil; never a default above 6 mm."""
    assert (FAST_OIL_S, CLAMPED_UP_TO_MM) == (7.0, 6.0)
    harden = {"do": "harden", "medium": "fast oil"}
    for section, told in (("6 mm", True), ("6.5 mm", False)):
        made = profiled(bench("1084", harden, section=section))
        says = " ".join(s.say for s in made.segments if isinstance(s, Operator))
        assert ("out after about 7 s" in says) is told


# --- honest names, hot minutes ----------------------------------------------------------------------


def gamma_iron_j_per_kg_k(at_c: float) -> float:
    """Return the specific heat of fcc iron: -T d2G/dT2 of the SGTE Gibbs energy (Dinsdale 1991), 298-1811 K.

    G = -237.6 + 132.416 T - 24.6643 T ln T - 0.00375752 T^2 - 5.8927e-8 T^3 + 77359/T in J/mol.
    """
    t = at_c + 273.15
    return (24.6643 + 2 * 0.00375752 * t + 6 * 5.8927e-8 * t**2 - 2 * 77359 / t**2) / 0.055845


def falls_in_air_s(thickness_mm: float, from_c: float, to_c: float, austenite: bool = False) -> float:
    """Return the time of a lump in still air by scipy: radiation (0.8), film (10), 650 J/kgK or austenite."""

    def seconds_per_k(t: float) -> float:
        radiated = 0.8 * 5.670374419e-8 * ((t + 273.15) ** 4 - 293.15**4)
        heat = gamma_iron_j_per_kg_k(t) if austenite else 650.0
        return 7850.0 * heat * thickness_mm / 2000.0 / (radiated + 10.0 * (t - 20.0))

    return float(quad(seconds_per_k, to_c, from_c)[0])


@pytest.mark.parametrize("thickness_mm", [3.0, 6.0, 12.0])
def test_plate_in_still_air(thickness_mm: float) -> None:
    model = slab(thickness_mm, heat=SteelHeat(650.0), peak_c=870)
    expected = 200.0 / falls_in_air_s(thickness_mm, 700.0, 500.0)
    assert still_air_c_per_s(model, 870.0, AMBIENT_C) == pytest.approx(expected, rel=0.04)


def test_shut_furnace_is_no_normalise() -> None:
    """The shut furnace falls at about 0.05 degC/s: tau ln(680/480) for 200 K."""
    rate = shut_cooling_c_per_s(FURNACE, 870.0, AMBIENT_C)
    assert rate == pytest.approx(200.0 / (FURNACE_TAU_S * math.log(680.0 / 480.0)), rel=0.03)
    named = name_cooling(rate, load_steel("1095"))
    assert "furnace cooled, not normalised" in named.name
    assert "network" in named.warning
    assert not name_cooling(rate, load_steel("1075")).warning


def test_air_cool_is_a_normalise() -> None:
    assert name_cooling(2.1, load_steel("5160")).name.startswith("normalised")
    assert name_cooling(20.0 / 3600.0, load_steel("5160")).name.startswith("full anneal")


def test_rate_is_read_between_700_and_500_of_the_last_heat() -> None:
    curve = [(0, 20), (10, 870), (20, 400), (30, 840), (100, 700), (200, 500), (300, 300)]
    assert rate_700_500(curve) == pytest.approx(2.0)
    assert rate_700_500([(0, 870), (100, 650)]) is None


def test_hot_minutes_add_up_over_the_heats_of_a_part() -> None:
    """Two heats of 22 and 17 min bare above 800 degC are 39, over a limit of 30."""
    both = Exposure(1500.0, 22 * 60.0) + Exposure(1200.0, 17 * 60.0)
    assert both.above_800_s / 60 == 39
    assert "39 min bare above 800 °C, over 30 min" in exposure_note(both, 1800.0, protected=False)
    assert exposure_note(both, 1800.0, protected=True) == ""


# --- between oven and bath --------------------------------------------------------------------------


@pytest.mark.parametrize("thickness_mm", [0.8, 2.0, 3.0, 5.0])
@pytest.mark.parametrize("to_c", [800.0, 760.0])
def test_transfer_in_still_air(thickness_mm: float, to_c: float) -> None:
    expected = falls_in_air_s(thickness_mm, 830.0, to_c, austenite=True)
    assert falls_to_s(thickness_mm, 830.0, to_c) == pytest.approx(expected, abs=0.06 + 0.03 * expected)


def test_sixth_blade_is_refused() -> None:
    oil = {"mass": "4 kg", "start": "50 C", "flash": "180 C"}
    harden = {"do": "harden", "at": "830 C", "blades": 6, "mass": "0.3 kg", "oil": oil}
    with pytest.raises(RunRefused, match="part 6 would bring the oil to 171 °C"):
        plan(recipe_of("5160", harden), load_steel("5160"), oven("hardening-furnace"))
    made = plan(recipe_of("5160", harden | {"blades": 5}), load_steel("5160"), oven("hardening-furnace"))
    assert any("limit is 152" in note for note in made.notes)


def test_a_lower_data_sheet_limit_wins() -> None:
    assert Bath(4.0, 50.0, 180.0, 120.0).limit_c == 120.0


def test_a_profile_that_names_its_steel_is_checked_too() -> None:
    soak = {"kind": "soak", "at": "830 F", "time": "10 min", "purpose": "harden"}
    profile = Profile.model_validate({"name": "p", "steel": "1084", "segment": (soak,)})
    with pytest.raises(ProfileError, match="will not harden"):
        plan_profile(profile, load_steel("1084"), oven("hardening-furnace"))
