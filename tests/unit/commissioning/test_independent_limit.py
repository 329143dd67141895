"""What the independent limit is set to: too high guards nothing, and may be set anew at once."""

from types import SimpleNamespace

import pytest
from maker import Maker

from kilnctl.commissioning.independent_limit import LIMIT_ABOVE_K, limit_setting


@pytest.mark.parametrize(
    ("first", "anew", "kept"),
    [("1130 C", "", 1130.0), ("1140 C", "1130 C", 1130.0), ("1140 C", "", None)],
)
def test_a_setting_that_is_too_high_is_asked_anew(first: str, anew: str, kept: float | None) -> None:
    maker = Maker({"Set value": first, "set to now": anew} if anew else {"Set value": first})
    shop = SimpleNamespace(person=maker, oven=SimpleNamespace(limit_c=1100.0))
    assert limit_setting(shop) == kept  # type: ignore[arg-type]
    assert ("bears 1100 °C" in maker.text) is (first == "1140 C")
    assert kept is None or kept <= 1100.0 + LIMIT_ABOVE_K
    assert ("lies 30 K above" in maker.text) is (kept == 1130.0)


def test_a_setting_close_above_the_heat_that_is_wanted_needs_no_word() -> None:
    """A limiter of 330 °C on an oven that bears 300 °C passed without one."""
    maker = Maker({"Set value": "290 C"})
    shop = SimpleNamespace(person=maker, oven=SimpleNamespace(limit_c=300.0))
    assert limit_setting(shop) == 290.0  # type: ignore[arg-type]
    assert "above" not in maker.text
