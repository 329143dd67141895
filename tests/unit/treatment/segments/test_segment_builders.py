"""Segments from numbers: the same as a person would write them into a file, bounds and all."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kilnctl.errors import ProfileError
from kilnctl.profile.segments import Cool, Operator, Ramp, Soak
from kilnctl.treatment.segments import segment_builders
from kilnctl.treatment.segments.segment_builders import Words, cool, person, ramp, soak

WORDS = Words("temper", "heat", "as asked", "invented")
ABOUT = {"purpose": "temper", "label": "heat", "reason": "as asked", "source": "invented"}
degrees = st.floats(-90.0, 1390.0)
seconds = st.floats(2.0, 172_000.0)
rates = st.none() | st.floats(0.2, 9_990.0)


def given_keys(**keys: str | None) -> dict[str, object]:
    """Return the keys of a file, as its text has them; a key without a value is left out."""
    return {**{name: text for name, text in keys.items() if text is not None}, **ABOUT}


def in_rate(rate: float | None) -> str | None:
    return None if rate is None else f"{rate:.3f} C/h"


@given(to_c=degrees, rate=rates)
def test_a_ramp_is_as_its_text(to_c: float, rate: float | None) -> None:
    text = given_keys(to=f"{to_c:.2f} C", rate=in_rate(rate))
    assert ramp(to_c, WORDS, rate) == Ramp.model_validate(text)


@given(at_c=degrees, time_s=seconds, band_k=st.floats(0.2, 99.0))
def test_a_soak_is_as_its_text(at_c: float, time_s: float, band_k: float) -> None:
    text = given_keys(at=f"{at_c:.2f} C", time=f"{time_s:.1f} s", band=f"{band_k:.1f} K", clock="part")
    assert soak(at_c, time_s, WORDS, band_k) == Soak.model_validate(text)


@given(to_c=degrees, rate=rates, most_s=st.none() | seconds)
def test_a_cooling_is_as_its_text(to_c: float, rate: float | None, most_s: float | None) -> None:
    longest = None if most_s is None else f"{most_s:.1f} s"
    text = given_keys(to=f"{to_c:.2f} C", rate=in_rate(rate), measure="oven", at_most=longest)
    assert cool(to_c, WORDS, rate, at_most_s=most_s) == Cool.model_validate(text)


@given(most_s=seconds, hold_c=st.none() | degrees, bath_s=st.none() | st.floats(1.0, 100.0))
def test_an_operator_step_is_as_its_text(most_s: float, hold_c: float | None, bath_s: float | None) -> None:
    hold = None if hold_c is None else f"{hold_c:.2f} C"
    bath = None if bath_s is None else f"{bath_s:.1f} s"
    text = given_keys(step="quench", say="now", medium="oil", at_most=f"{most_s:.1f} s", hold=hold, bath=bath)
    assert person("quench", "now", most_s, WORDS, hold_c, "oil", {"bath": bath_s}) == Operator.model_validate(
        text
    )


@pytest.mark.parametrize(
    ("make", "key"),
    [
        (lambda: ramp(1500.0, WORDS), "to: must lie between -100 C and 1400 C"),
        (lambda: soak(800.0, 1e6, WORDS), "time: must lie between 0 s and 48 h"),
        (lambda: soak(800.0, -1.0, WORDS), "time: "),
        (lambda: ramp(float("nan"), WORDS), "to: "),
        (lambda: cool(40.0, WORDS, 0.01), "rate: must lie between"),
    ],
)
def test_a_number_that_was_reckoned_keeps_the_bounds_of_a_file(make, key: str) -> None:
    with pytest.raises(ProfileError, match=key):
        make()


def test_no_text_stands_between_a_number_and_its_segment() -> None:
    assert not [name for name in ("in_c", "in_s", "rate") if hasattr(segment_builders, name)]


def test_a_bare_number_in_a_file_is_still_refused() -> None:
    with pytest.raises(ValueError, match="needs a unit"):
        Ramp.model_validate({"to": 218.0})
