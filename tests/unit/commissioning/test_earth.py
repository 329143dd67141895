"""Earth and insulation as measured: numbers and a name, judged by what a sound appliance measures."""

import pytest
from maker import Maker

from kilnctl.commissioning import earth
from kilnctl.commissioning.operator import Later
from kilnctl.errors import UnitError
from kilnctl.permits.setup_steps import BY_NAME


class Shop:
    def __init__(self, person: Maker) -> None:
        self.person = person


def measured(name: str = "A. Electrician", ohm: str = "0.1 ohm", megohm: str = "200 megohm"):
    maker = Maker({"Who measured": name, "Earth, from": ohm, "Insulation, from": megohm})
    return earth.earth(Shop(maker), BY_NAME["earth and insulation"]), maker  # type: ignore[arg-type]


def test_sound_values_are_kept_as_numbers() -> None:
    result, _ = measured()
    assert result.passed
    assert result.data == {"earth, ohm": 0.1, "insulation, megohm": 200.0}
    assert "A. Electrician" in result.note


# EN 50699: class I, at most 0.3 to 1 ohm, at least 0.3 megohm with heating elements (figures from memory).
@pytest.mark.parametrize("values", [{"ohm": "1.1 ohm"}, {"ohm": "200"}, {"megohm": "0.2 megohm"}])
def test_what_no_sound_appliance_measures_does_not_pass(values: dict[str, str]) -> None:
    result, maker = measured(**values)
    assert not result.passed
    assert "WRONG" in maker.text


@pytest.mark.parametrize("name", ["y", "n", "yes", "12", "", "  "])
def test_y_is_no_name(name: str) -> None:
    """y, y, y gave "passed, 365 days left"."""
    with pytest.raises(UnitError, match="name of the person"):
        earth.named(name)


@pytest.mark.parametrize("text", ["y", "ok", "0.1 ohm, 200 megohm", "-1", "1 kelvin"])
def test_what_is_no_number_is_asked_again(text: str) -> None:
    for read in (earth.ohm, earth.megohm):
        with pytest.raises(UnitError, match="what the meter showed"):
            read(text)


@pytest.mark.parametrize(
    ("text", "value"),
    [("200", 200.0), (">500 megohm", 500.0), ("0,5 Mohm", 0.5), ("1 Gohm", 1000.0), ("300 kohm", 0.3)],
)
def test_insulation_is_read_as_meters_show_it(text: str, value: float) -> None:
    assert earth.megohm(text) == pytest.approx(value)


def test_an_earth_in_milliohm_is_not_taken_for_megohm() -> None:
    assert earth.ohm("100 mohm") == pytest.approx(0.1)


def test_the_person_may_stop() -> None:
    with pytest.raises(Later):
        earth.earth(Shop(Maker({})), BY_NAME["earth and insulation"])  # type: ignore[arg-type]
