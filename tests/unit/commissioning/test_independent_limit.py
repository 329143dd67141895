"""What the independent limit is set to: too high guards nothing, and may be set anew at once."""

from types import SimpleNamespace

import pytest
from maker import Maker

from kilnctl.commissioning.independent_limit import LIMIT_ABOVE_K, limit_setting
from kilnctl.config import home
from kilnctl.config.oven import load_oven

OVEN = load_oven(home.bundled("ovens") / "tempering-oven.toml")


@pytest.mark.parametrize(
    ("first", "anew", "kept"),
    [("1130 C", "", 1130.0), ("1140 C", "1130 C", 1130.0), ("1140 C", "", None)],
)
def test_a_setting_that_is_too_high_is_asked_anew(first: str, anew: str, kept: float | None) -> None:
    maker = Maker({"Set value": first, "set to now": anew} if anew else {"Set value": first})
    shop = SimpleNamespace(person=maker, oven=SimpleNamespace(limit_c=1100.0))
    assert limit_setting(shop) == kept  # type: ignore[arg-type]
    assert ("1100 °C in the oven file" in maker.text) is (first == "1140 C")
    assert kept is None or kept <= 1100.0 + LIMIT_ABOVE_K
    assert ("lies 30 K above" in maker.text) is (kept == 1130.0)


def test_a_setting_close_above_the_heat_that_is_wanted_needs_no_word() -> None:
    """A limiter of 330 °C on an oven that bears 300 °C passed without one."""
    maker = Maker({"Set value": "290 C"})
    shop = SimpleNamespace(person=maker, oven=SimpleNamespace(limit_c=300.0))
    assert limit_setting(shop) == 290.0  # type: ignore[arg-type]
    assert "above" not in maker.text


def test_a_limit_that_was_only_the_maker_s_own_ceiling_has_a_way_on_too() -> None:
    """His 260 °C was a ceiling of his own, his machine bears 1050: "Set it to 290 °C at most" was all."""
    maker = Maker({"Set value": "1060 C", "set to now": ""})
    shop = SimpleNamespace(person=maker, oven=OVEN.model_copy(update={"limit_c": 260.0}))
    assert limit_setting(shop) is None  # type: ignore[arg-type]
    for words in (
        "what the machine itself bears",
        "at its own knob",
        "290 °C",
        "only your own ceiling",
        "plate",
    ):
        assert words in maker.text
