"""Which numbers of a question are steels and which are heats."""

import pytest

from kilnctl.guide.asked_numbers import AskedHeat, SteelsAndHeats, asked_numbers

CARDS = {"o1": "O1", "1080": "1080", "1095": "1095", "440c": "440C", "14c28n": "14C28N", "1.2210": "1.2210"}


def asked(text: str) -> SteelsAndHeats:
    return asked_numbers(text, lambda word: CARDS.get(word.replace(" ", "").lower()))


@pytest.mark.parametrize(
    ("text", "grades", "heats"),
    [
        ("O1 at 1080", ("O1",), (AskedHeat(1080, ""),)),
        ("O1 at 1080c", ("O1",), (AskedHeat(1080, "C"),)),
        ("O1 1080 degrees F", ("O1",), (AskedHeat(1080, "F"),)),
        ("1080 at 1500 F", ("1080",), (AskedHeat(1500, "F"),)),
        ("heat 1080 and 1095 to 1500 F", ("1080", "1095"), (AskedHeat(1500, "F"),)),
        ("440C", ("440C",), ()),
        ("440C at 1010-1040 °C", ("440C",), (AskedHeat(1010, "C"), AskedHeat(1040, "C"))),
        ("1.2210", ("1.2210",), ()),
        ("1080 cracked", ("1080",), ()),
        ("a 200 mm 1095 blade", ("1095",), ()),
        ("O1 400 grit", ("O1",), ()),
        ("1080 and O1", ("1080", "O1"), ()),
    ],
)
def test_steels_and_heats(text: str, grades: tuple[str, ...], heats: tuple[AskedHeat, ...]) -> None:
    found = asked(text)
    assert found.grades == grades
    assert found.heats == heats


def test_a_steel_beside_another_is_in_doubt_and_both_are_kept() -> None:
    found = asked("14C28N 1095")
    assert found.doubtful == ("1095",)
    assert found.grades == ("14C28N", "1095")
    assert found.heats == (AskedHeat(1095, ""),)
