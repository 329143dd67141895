"""What a smith gets wrong before the heat is warned of: one temper of two, a hot gate, cold oil, a long soak.

Outside: the A2 sheet of a tool-steel service company (double temper mandatory, room temperature between); a
1095 anneal below its Accm of 808 degC (open steel database); the rest is common practice, no single source.
No forecast is made: the chain and its checks only, which is cheap.
"""

import pytest
from trade_plans import bench, profiled

from kilnctl.errors import ProfileError
from kilnctl.profile.segments import Operator
from kilnctl.treatment.plan_checks import check_steel
from kilnctl.treatment.recipe.treatments import Harden
from kilnctl.treatment.segments.quench_medium import quench_warnings
from kilnctl.treatment.segments.segment_builders import PlanFor
from kilnctl.treatment.steel.cooling_names import network_warning
from kilnctl.treatment.steel.no_card import carbon_of
from kilnctl.treatment.steel.steels import load_steel

HARDEN = {"do": "harden"}
TEMPER = {"do": "temper", "at": "205 C"}


def warned(asked: PlanFor) -> str:
    assert asked.steel is not None
    return " ".join(warn.text for warn in check_steel(profiled(asked), asked.steel))


def quenched(asked: PlanFor) -> str:
    first = asked.recipe.treatment[0]
    assert isinstance(first, Harden)
    steps = [s.say for s in profiled(asked).segments if isinstance(s, Operator) and s.step == "quench"]
    return " ".join((*quench_warnings(asked, first), *steps))


@pytest.mark.parametrize(
    ("steel", "temper", "says"),
    [
        ("A2", {"count": 1, "time": "4h"}, "one long temper does not"),
        ("A2", {"count": 2}, ""),
        ("O1", {"count": 1}, ""),
        ("1084", {"count": 2, "gate": "120 C"}, "turns only when the part is hand-warm"),
        ("O1", {"count": 1, "gate": "120 C"}, ""),
        ("1084", {"count": 2, "gate": "65 C"}, ""),
    ],
)
def test_tempers_and_the_cooling_between(steel: str, temper: dict[str, object], says: str) -> None:
    found = warned(bench(steel, TEMPER | temper))
    assert says in found
    assert bool(says) or not any(word in found for word in ("asks for", "hand-warm"))


@pytest.mark.parametrize(
    ("time", "section", "long"), [("3h", "4 mm", True), ("20 min", "4 mm", False), ("2h", "60 mm", False)]
)
def test_a_normalise_of_hours_grows_the_grain(time: str, section: str, long: bool) -> None:
    asked = bench("1095", {"do": "normalise", "at": ("855 C",), "time": time}, section=section)
    assert ("grain grows" in warned(asked)) is long


@pytest.mark.parametrize(("start", "says"), [("15 C", "thick"), ("55 C", ""), ("110 C", "made for hot use")])
def test_oil_begins_neither_cold_nor_hot(start: str, says: str) -> None:
    oil = {"mass": "8 kg", "start": start, "flash": "200 C"}
    found = quenched(bench("5160", {**HARDEN, "mass": "0.4 kg", "oil": oil}, TEMPER))
    assert says in found
    assert bool(says) or "oil at" not in found


def test_an_edge_quench_says_how_deep_and_what_stays_soft() -> None:
    found = quenched(bench("1084", {**HARDEN, "edge": "20 mm"}, TEMPER))
    assert "edge 20 mm deep" in found
    assert "the spine stays soft" in found
    assert "clamp" not in [
        getattr(s, "step", "") for s in profiled(bench("1084", {**HARDEN, "edge": "20 mm"}, TEMPER)).segments
    ]
    assert "hardens deep" in quenched(bench("5160", {**HARDEN, "edge": "20 mm"}, TEMPER))


@pytest.mark.parametrize(
    ("goal", "hrc"), [("697 HV", (60.0, 60.0)), ("653-697 HV", (58.0, 60.0)), (60, (60.0, 60.0))]
)
def test_a_goal_may_stand_in_the_scale_of_the_drawing(goal: object, hrc: tuple[float, float]) -> None:
    """ASTM E140: 697 HV are 60 HRC, 653 HV 58."""
    assert bench("O1", TEMPER, goal_hrc=goal).recipe.goal_hrc == hrc


def test_an_edge_is_not_dipped_into_plates() -> None:
    dry = bench("1084", {**HARDEN, "edge": "20 mm", "medium": "plates"}, TEMPER)
    assert "cannot be dipped into plates" in quenched(dry)


def test_a_grade_that_hardens_in_air_has_no_soft_spine() -> None:
    assert "its spine hardens with the edge" in quenched(bench("A2", {**HARDEN, "edge": "20 mm"}, TEMPER))


@pytest.mark.parametrize(("surface", "told"), [("foil", True), ("bare", False)])
def test_what_is_said_of_foil_is_said_to_who_uses_it(surface: str, told: bool) -> None:
    segments = profiled(bench("AEB-L", HARDEN, TEMPER, surface=surface)).segments
    assert any("inside the foil" in s.reason for s in segments) is told


@pytest.mark.parametrize(
    ("steel", "from_c", "warns"),
    [("1095", 855, True), ("1095", 780, False), ("52100", 795, False), ("A2", 870, False)],
)
def test_a_network_comes_only_of_carbide_that_was_dissolved(steel: str, from_c: float, warns: bool) -> None:
    assert bool(network_warning(load_steel(steel), from_c)) is warns


@pytest.mark.parametrize(
    ("name", "carbon"),
    [("1018", 0.18), ("AISI 1045", 0.45), ("mild steel", 0.1), ("O2", None), ("1.2842", None)],
)
def test_an_aisi_number_tells_its_carbon(name: str, carbon: float | None) -> None:
    assert carbon_of(name) == carbon


def test_low_carbon_steel_is_not_offered_a_tool_steels_card() -> None:
    with pytest.raises(ProfileError, match=r"does not harden through.*case hardening.*not planned here"):
        load_steel("1018")


def test_an_oven_that_falls_to_its_temper_is_no_hot_gate() -> None:
    """Hardened and tempered at 500 degC in one furnace: the part waits outside until the oven has fallen."""
    falls = bench("D2", HARDEN, {**TEMPER, "at": "500 C", "count": 2}, surface="foil")
    assert "hand-warm" not in warned(falls)
