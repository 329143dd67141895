"""A steel bought under another name: the names of a grade find one card, and no other grade takes its place.

1.2842 = 90MnCrV8 = 90MnV2 = O2, 790-820 degC into oil, 61-62 HRC at 200 degC, 57-58 at 300 (two sellers'
pages of 1.2842, one of which prints a zero); 1.2510 = 100MnCrW4 = O1 (EN ISO 4957). AISI tool-steel letters
name the quench: W water, O oil, A air, D high carbon and chromium (as every handbook prints them).
"""

import pytest

from kilnctl.treatment.steel.no_card import say_no_card, why_no_coupons
from kilnctl.treatment.steel.steels import load_steel

BUNDLED = {
    "O1",
    "O2",
    "W1",
    "W2",
    "A2",
    "D2",
    "1075",
    "1084",
    "1095",
    "5160",
    "8670",
    "52100",
    "80CrV2",
    "15N20",
}


@pytest.mark.parametrize("name", ["1.2842", "90MnCrV8", "90 MnCrV 8", "O2", "o-2", "90MnV2"])
def test_every_name_of_1_2842_is_one_card(name: str) -> None:
    card = load_steel(name)
    assert card.grade == "O2"
    bands = [(claim.low_c, claim.high_c) for claim in card.austenitise]
    assert (790.0, 820.0) in bands
    assert all(low <= sum(bands[0]) / 2.0 <= high for low, high in bands), (
        "the planned heat suits every source"
    )
    assert {quench.medium for quench in card.quench} == {"medium oil"}
    rows = {row.at_c: row.hrc for row in card.temper_table[0].row}
    assert rows[200.0] == (61, 62)
    assert rows[300.0] == (57, 58)


def test_o1_is_another_steel() -> None:
    assert load_steel("1.2510").grade == load_steel("100MnCrW4").grade == "O1"


# By spelling alone "L2" is next to D2, and "C105W1" to 1095.
@pytest.mark.parametrize(
    ("name", "says", "never"),
    [
        ("02", "the letter O", "D2"),
        ("AISI 01", "the letter O", "D2"),
        ("O6", "in oil", "D2"),
        ("L2", "in oil", "D2"),
        ("D3", "in oil", "nearest"),
        ("A6", "in air", "nearest"),
        ("W5", "in water", "nearest"),
        ("C105W1", "1.05 % carbon", "1095"),
        ("C60", "0.6 % carbon", "8670"),
        ("C125U", "1.25 % carbon", "figure"),
        ("SK85", "0.85 % carbon", "nearest"),
        ("51CrV4", "spring steel", "80CrV2"),
        ("1.8159", "spring steel", "80CrV2"),
        ("SUP9", "5160", "nearest"),
        ("65Mn", "0.65 % carbon", "nearest"),
        ("115CrV3", "silver steel", "nearest"),
        ("1.2210", "silver steel", "nearest"),
    ],
)
def test_a_name_is_told_by_what_it_is_not_by_its_spelling(name: str, says: str, never: str) -> None:
    said = say_no_card(name, BUNDLED)
    assert says in said
    assert never not in said


@pytest.mark.parametrize("name", ["K720", "F2", "K110", "C110"])
def test_names_of_other_steels_are_given_no_card_that_they_resemble(name: str) -> None:
    said = say_no_card(name, BUNDLED)
    assert "nearest card" not in said
    assert "spelt like it" not in said


@pytest.mark.parametrize("name", ["A6", "D3", "D6"])
def test_coupons_in_oil_are_not_for_what_hardens_in_air_or_above_them(name: str) -> None:
    """Coupons go to 780-840 degC and into oil: D3 hardens from 925, A6 in air (handbooks, from memory)."""
    assert why_no_coupons(name)
