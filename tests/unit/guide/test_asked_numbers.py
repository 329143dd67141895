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


@pytest.mark.parametrize(
    "text",
    [
        "san mai 1095 core 416 sides",
        "1095 with 410 cladding",
        "O1 304 stainless foil wrap",
        "O1 jig 316 wire tie",
        "braze 1095 to 304",
        "weld 1095 to 1018",
        "O1 blade is 300 long",
        "1095 is 250 wide at the heel",
        "O1 PSI 2000 press",
        "O1 grit 400",
        "1095 on a 2x72 grinder",
        "O1 and a 1500 watt heater",
        "1095 and 1018 rods for a jig",
        "O1 was 200 euros",
        "damascus 14C28N 1095",
    ],
)
def test_a_number_that_no_word_calls_a_heat_is_none(text: str) -> None:
    assert asked(text).heats == ()


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("O1 800", 800.0),
        ("temper O1 200", 200.0),
        ("O1 tempered 420 twice", 420.0),
        ("is 1500 too hot for O1", 1500.0),
        ("heated O1 to 1020 by mistake", 1020.0),
        ("my O1 stayed soft at 750 in canola", 750.0),
        ("O1 harden 800 for 10 min", 800.0),
        ("my O1 overshot 870", 870.0),
        ("O1 got 900", 900.0),
        ("O1 stayed soft 760 canola", 760.0),
        ("O1 1475 for 10 minutes in parks", 1475.0),
        ("440C in the oven 420 overnight", 420.0),
    ],
)
def test_a_number_beside_a_word_for_heat_is_one(text: str, value: float) -> None:
    assert asked(text).heats == (AskedHeat(value, ""),)
