"""A grade is found under the names that people use for it; its sisters are not taken for it.

EN ISO 4957 and EN ISO 683-17: 1.2510 is 100MnCrW4 (O1), 1.2379 is X153CrMoV12 (D2), 1.3505 is 100Cr6 (52100).
"""

import pytest

from kilnctl.errors import ProfileError
from kilnctl.treatment.steel.no_card import say_no_card
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
        ("M2", "hotter than a shop furnace"),
        ("12C27", "stainless"),
        ("mild steel", "does not harden through"),
        ("wrought iron", "does not harden by a quench"),
        ("9260", "springs and tough blades"),
        ("1045", "stays soft"),
        ("1060", "--carbon 0.6"),
        ("1.2842", "material number"),
    ],
)
def test_what_has_no_card_is_told_apart(name: str, said: str) -> None:
    """AISI numbers end in the carbon content; the rest is common practice, no single source."""
    assert said in say_no_card(name, {"O1", "1084", "440C"})


def test_no_far_name_is_offered() -> None:
    assert "AEB-L" not in say_no_card("foobar", {"AEB-L", "O1"})
