"""The jacket of a laminate may be a metal without a card (common practice; copper melts at 1085 °C)."""

import pytest

from kilnctl.errors import ProfileError
from kilnctl.treatment.steel.soft_cladding import soft_cladding


@pytest.mark.parametrize(
    "name", ["wrought iron", "mild steel", "1018", "nickel", "stainless", "410", "copper"]
)
def test_a_soft_jacket_has_its_cautions(name: str) -> None:
    assert soft_cladding(name, 830.0)


@pytest.mark.parametrize("name", ["brass", "galvanised sheet", "aluminium"])
def test_a_jacket_that_melts_or_fumes_is_refused(name: str) -> None:
    with pytest.raises(ProfileError, match="fumes"):
        soft_cladding(name, 830.0)


def test_copper_is_refused_near_its_melting_point() -> None:
    assert soft_cladding("copper", 1030.0)
    with pytest.raises(ProfileError, match="1085"):
        soft_cladding("copper", 1040.0)


@pytest.mark.parametrize("name", ["1060", "O2", ""])
def test_what_may_harden_is_no_soft_jacket(name: str) -> None:
    assert soft_cladding(name, 830.0) is None
