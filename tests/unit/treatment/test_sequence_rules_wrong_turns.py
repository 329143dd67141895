"""What a shop does wrong at the quench and after it: refused or warned of, with what to do instead.

Outside: mill and distributor sheets of A2 and D2 (air or plates), of O1 and 5160 (oil); the order of a cold
treatment and of a second hardening is common practice, no single source.
"""

import pytest
from trade_plans import planned

from kilnctl.errors import ProfileError
from kilnctl.treatment.planning import Plan

COLD = {"do": "cold treatment", "at": "-78 C"}
TEMPER = {"do": "temper", "at": "205 C"}


def hardened(steel: str, section: str, **harden: object) -> Plan:
    temper = {"do": "temper", "oven": "x", "at": "200 C"}
    return planned(steel, {"do": "harden", "protection": "foil", **harden}, temper, section=section)


@pytest.mark.parametrize("steel", ["D2", "A2", "440C", "AEB-L", "O1", "5160", "52100"])
def test_water_cracks_what_hardens_in_oil_or_air(steel: str) -> None:
    with pytest.raises(ProfileError, match=rf"{steel} cracks in water.*(oil|plates)"):
        hardened(steel, "3 mm", medium="water or brine")
    made = hardened(steel, "3 mm", medium="water or brine", reason="a trial on scrap")
    assert any("harder than needed" in w for w in made.warnings)


@pytest.mark.parametrize(
    ("steel", "medium", "says"),
    [("A2", "fast oil", "crack"), ("O1", "still air", "soft"), ("1084", "medium oil", "soft|does not say")],
)
def test_a_medium_that_is_not_the_cards_says_which_way_it_errs(steel: str, medium: str, says: str) -> None:
    found = " ".join(hardened(steel, "3 mm", medium=medium).warnings)
    assert any(word in found for word in says.split("|"))


def test_either_oil_is_right_where_the_source_says_so() -> None:
    assert not [w for w in hardened("15N20", "3 mm", medium="fast oil").warnings if "harder" in w]


def test_a_second_quench_asks_for_a_normalise_and_an_alloy_grade_for_an_anneal() -> None:
    for steel, first in (("52100", "normalise"), ("A2", "anneal")):
        with pytest.raises(ProfileError, match=rf"second quench.*crack.*{first} it in between"):
            planned(steel, {"do": "harden"}, {"do": "harden"}, TEMPER, section="3 mm")


@pytest.mark.parametrize(
    ("between", "late"),
    [
        ((), False),
        (({"do": "snap temper"},), False),
        (({**TEMPER, "count": 1},), False),
        ((TEMPER,), True),
        (({"do": "wait", "at_most": "24h"},), True),
    ],
)
def test_cold_comes_soon_or_does_little(between: tuple[dict[str, object], ...], late: bool) -> None:
    made = planned("O1", {"do": "harden"}, *between, COLD, {**TEMPER, "count": 1}, section="3 mm")
    assert any("comes late" in w for w in made.warnings) is late


def test_a_snap_temper_alone_leaves_it_brittle() -> None:
    """150 °C for an hour takes stress away and no more (common practice); it is not the temper."""
    snap = {"do": "snap temper"}
    assert any("still brittle" in w for w in planned("1095", {"do": "harden"}, snap, section="3 mm").warnings)
    found = planned("1095", {"do": "harden"}, snap, TEMPER, section="3 mm").warnings
    assert not [w for w in found if "brittle" in w]
