"""What a shop does wrong at the quench and after it: refused or warned of, with what to do instead.

Outside: mill and distributor sheets of A2 and D2 (air or plates), of O1 and 5160 (oil); the order of a cold
treatment and of a second hardening is common practice, no single source.
"""

import pytest
from trade_plans import planned

from kilnctl.errors import ProfileError
from kilnctl.profile.segments import Operator
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


def test_foil_is_for_what_hardens_in_air() -> None:
    """Foil must be cut open before a bath, and a plain blade has no time for it (common practice)."""
    says = "within seconds, and foil has to be cut open first"
    assert says in " ".join(hardened("1084", "3 mm").warnings)
    assert says in " ".join(hardened("O1", "3 mm").warnings)
    for steel, medium in (("O1", "still air"), ("A2", "plates"), ("AEB-L", "fast oil")):
        assert says not in " ".join(hardened(steel, "3 mm", medium=medium).warnings)


def test_a_hotter_second_temper_is_not_told_to_stand_before_the_hardening() -> None:
    cooler = {"do": "temper", "at": "180 C", "count": 1}
    with pytest.raises(ProfileError, match=r"exceeds the temper before it.*; leave it out, or say why"):
        planned("O1", {"do": "harden"}, cooler, TEMPER, section="3 mm")


def test_a_cold_treatment_says_where_it_stands_and_where_the_card_has_it() -> None:
    """The card of O1 has it after the first temper: a chain without one must not say so."""
    for between, says in (((), "here before any temper (the card: after the first temper)"), (TEMPER, "")):
        steps = ({"do": "harden"}, *([between] if between else []), COLD, {**TEMPER, "count": 1})
        made = planned("O1", *steps, section="3 mm")
        said = next(s.say for s in made.profile.segments if isinstance(s, Operator) and s.step == "cold")
        assert (says or "Cold treatment, after the first temper") in said


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
