"""A grade is found under the names that people use for it; its sisters are not taken for it.

EN ISO 4957 and EN ISO 683-17: 1.2510 is 100MnCrW4 (O1), 1.2379 is X153CrMoV12 (D2), 1.3505 is 100Cr6 (52100).
"""

import pytest

from kilnctl.cli.main import run
from kilnctl.cli.plan.steel.steel_wizard import ask_card
from kilnctl.config import home
from kilnctl.errors import ProfileError
from kilnctl.treatment.steel.no_card import say_no_card, why_no_coupons
from kilnctl.treatment.steel.steels import load_steel


@pytest.mark.parametrize(
    ("name", "grade"),
    [
        ("100Cr6", "52100"),
        ("1.3505", "52100"),
        ("1.2510", "O1"),
        ("X153CrMoV12", "D2"),
        ("o-1", "O1"),
        ("AISI 1084", "1084"),
        ("SAE 5160", "5160"),
        ("aeb l", "AEB-L"),
    ],
)
def test_another_name_finds_the_card(name: str, grade: str) -> None:
    assert load_steel(name).grade == grade


@pytest.mark.parametrize(("name", "sister"), [("13C26", "AEB-L"), ("55Cr3", "5160")])
def test_a_sister_grade_is_not_the_grade(name: str, sister: str) -> None:
    with pytest.raises(ProfileError, match=f"{sister} is its sister grade"):
        load_steel(name)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("leaf spring", "coupons"),
        ("old file", "coupons"),
        ("rebar", "coupons"),
        ("M2", "too hot for a shop"),
        ("12C27", "stainless"),
        ("mild steel", "does not harden through"),
        ("wrought iron", "does not harden by a quench"),
        ("9260", "springs and tough blades"),
        ("1045", "stays soft"),
        ("1060", "--carbon 0.6"),
        ("1.2842", "material number"),
        ("CPM 3V", "never below 510 °C"),  # its published sheet: 1875-2050 degF, 1000-1100 degF three times
        ("cpm-3v", "1025-1120 °C"),
        ("CPM S30V", "in plates, in foil, cold"),
        ("S45VN", "in plates, in foil, cold"),
        ("CPM-154", "in plates, in foil, cold"),
        ("MagnaCut", "in plates, in foil, cold"),
        ("Vanadis 4 Extra", "powder tool steel"),
        ("EN45", "880-930 °C in oil"),  # a stockist's sheet of 250A53
        ("En 9", "about 0.55 % carbon"),
    ],
)
def test_what_has_no_card_is_told_apart(name: str, said: str) -> None:
    """AISI numbers end in the carbon content; the rest is common practice, no single source."""
    assert said in say_no_card(name, {"O1", "1084", "440C"})


@pytest.mark.parametrize("name", ["CPM 3V", "CPM-3V", "S30V", "M2", "1018", "EN45", "H13", "S7", "O1", "d-2"])
@pytest.mark.usefixtures("own_home")
def test_no_coupons_are_planned_of_what_they_cannot_harden(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Coupons go to 780-840 degC and into oil; carbon tempers of 175-235 degC would follow."""
    assert run(["steel", "coupons", name, "--section", "5 mm"]) == 2
    assert not (home.home() / "coupons").exists()
    assert len(capsys.readouterr().err.splitlines()) == 1


@pytest.mark.parametrize(
    "name", ["yard-spring", "leaf spring", "old file", "silver steel", "1045", "1.2842", "L6"]
)
def test_coupons_are_the_way_to_what_may_harden_in_oil(name: str) -> None:
    assert why_no_coupons(name) == ""


def test_who_writes_a_card_is_told_what_is_known() -> None:
    said: list[str] = []
    answers = iter(["CPM-3V"])
    with pytest.raises(StopIteration):
        ask_card(lambda _: next(answers), said.append)
    assert any("never below 510 °C" in line for line in said)
    assert "steel new" not in " ".join(said)


def test_no_far_name_is_offered() -> None:
    assert "AEB-L" not in say_no_card("foobar", {"AEB-L", "O1"})
