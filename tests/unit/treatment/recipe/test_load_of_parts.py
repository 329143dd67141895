"""What a part is, beside its thickness: its shape, an uneven section, another steel beside it, its foil.

Shape: a long square or round bar has twice a plate's surface for its volume, so it heats in half the time
(lumped heating, any textbook). The block is an examiner's: O1, 3 x 3 x 5 in, 1475 °F.
"""

from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.errors import ProfileError
from kilnctl.model.part import as_slab_mm
from kilnctl.profile.segments import Profile
from kilnctl.profile.write import profile_toml
from kilnctl.tomlfile import loads, made
from kilnctl.treatment.planning import Plan, plan
from kilnctl.treatment.recipe.load_of_parts import NamedPart, why_not_together
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.treatment.steel.steels import load_steel
from kilnctl.treatment.steel.through_heating import bar, within_s

OVEN = load_oven(Path("profiles/ovens/hardening-furnace.toml"))
HARDEN, TEMPER = {"do": "harden"}, {"do": "temper", "at": "205 C", "count": 2}
STACK = ({"name": "a", "section": "76.2 mm"},)
EDGES = [("O1", "400 C", True), ("O1", "205 C", False), ("5160", "425 C", False)]


def planned(steel: str = "O1", **keys: object) -> Plan:
    data = {"name": "p", "steel": steel, "section": "76.2 mm", "treatment": (HARDEN, TEMPER), **keys}
    return plan(made(data, Recipe, ProfileError, "p"), load_steel(steel), OVEN)


def test_a_square_block_soaks_through_in_half_the_time() -> None:
    shapes = ("plate", "square")
    plate_s, square_s = (
        within_s(bar(shape, 76.2, "bare", False, False, 800.0), 800.0, 5.0, 20.0) for shape in shapes
    )
    assert square_s == pytest.approx(plate_s / 2.0, rel=0.1)
    assert as_slab_mm(76.2, "square") == as_slab_mm(76.2, "round") == pytest.approx(38.1)
    assert as_slab_mm(9.0, "square", "one") == pytest.approx(6.0)  # three of four sides


def test_a_plan_and_a_figure_know_the_same_block() -> None:
    lags_s = {}
    for shape in ("plate", "square"):
        planned_ = planned(shape=shape, treatment=({"do": "temper", "at": "205 C", "count": 1},))
        (row,) = [row for row in planned_.rows if row.soak_s]
        lags_s[shape] = row.duration_s - (row.soak_s or 0.0)
    assert lags_s["square"] == pytest.approx(lags_s["plate"] / 2.0, rel=0.2)


def test_a_shape_comes_back_from_a_profiles_file() -> None:
    profile = planned(shape="round", section="20 mm").profile
    assert loads(profile_toml(profile), Profile, ProfileError, "p").shape == "round"
    assert "shape" not in profile_toml(planned(section="20 mm").profile)


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ({"shape": "round", "faces": "one"}, "along a line"),
        ({"shape": "ball"}, "shape"),
        (
            {"shape": "square", "stack": "tight", "parts": ({"name": "a", "section": "76.2 mm"},)},
            "as a plate",
        ),
    ],
)
def test_a_shape_that_cannot_be_is_refused(keys: dict[str, object], says: str) -> None:
    with pytest.raises(ProfileError, match=says):
        planned(treatment=(TEMPER,), **keys)


@pytest.mark.parametrize(
    ("keys", "has"),
    [
        ({"section": "4 mm", "thinnest": "1.5 mm"}, False),
        ({"section": "12 mm"}, False),
        ({"section": "16 mm", "thinnest": "1.6 mm"}, True),  # 1/16 to 5/8 in: the examiner's part
        ({"section": "25.4 mm"}, True),
    ],
)
def test_thick_and_uneven_parts_are_preheated_others_say_why_not(keys: dict[str, object], has: bool) -> None:
    """O1 sheets ask for 1200 to 1250 °F (650 to 675 °C) before the heat; its card has 650 to 730."""
    segments = planned(**keys).profile.segments
    assert any(s.purpose == "preheat" for s in segments) is has
    said = " ".join(s.reason for s in segments)
    assert ("preheat = true brings it" in said) is not has


def test_the_recipe_decides_over_the_rule() -> None:
    for wish in (True, False):
        found = planned(section="12 mm", treatment=({"do": "harden", "preheat": wish}, TEMPER))
        assert any(s.purpose == "preheat" for s in found.profile.segments) is wish
        assert "preheat = true brings it" not in " ".join(s.reason for s in found.profile.segments)
    plain = planned("1095", section="3 mm").profile.segments
    assert "preheat" not in " ".join(s.reason for s in plain)


def test_two_steels_in_one_heat_are_answered_by_their_cards() -> None:
    """Handbook ranges: A2 at 925 to 980 °C, 52100 at 800 to 845 (nothing shared); O1 and 1095 share 800."""
    of = {steel: NamedPart.model_validate({**STACK[0], "steel": steel}) for steel in ("52100", "1095", "o1")}
    assert "no heat hardens both" in why_not_together((of["52100"],), "A2")
    assert "both allow" in why_not_together((of["1095"],), "O1")
    assert "say the steel once" in why_not_together((of["1095"],), None)
    assert why_not_together((of["o1"],), "O1") == ""

    def parts(steel: str) -> tuple[dict[str, str], ...]:
        return {"name": "a", "section": "4 mm"}, {"name": "b", "section": "4 mm", "steel": steel}

    says = r'"b" is 1095, the load O1: one heat has one steel.*both allow'
    with pytest.raises(ProfileError, match=says):
        planned(section="4 mm", parts=parts("1095"))
    planned(section="4 mm", parts=parts("o1"))
    with pytest.raises(ProfileError, match="one heat has one steel"):
        planned(section="4 mm", parts=parts("mystery"))


def test_a_foil_is_never_cut_open_over_a_bath_and_has_a_limit() -> None:
    """Type 309: 2000 °F (1095 °C) in steady service (a stainless-steel trade association's table)."""
    oil = planned("A2", section="4 mm", surface="foil", treatment=({**HARDEN, "medium": "fast oil"}, TEMPER))
    assert "never cut open over a bath" in " ".join(oil.warnings)
    steps = " ".join(getattr(s, "say", "") for s in oil.profile.segments)
    assert "none of it goes over or into it" in steps
    dry = planned("A2", section="4 mm", surface="foil")
    assert "over a bath" not in " ".join(dry.warnings)
    assert "type 309" not in " ".join(dry.warnings)
    hot = OVEN.model_copy(update={"limit_c": 1200.0})
    data = {"name": "p", "steel": "14C28N", "section": "2 mm", "surface": "foil"}
    data["treatment"] = ({**HARDEN, "at": "1100 C"},)  # type: ignore[assignment]
    said = plan(made(data, Recipe, ProfileError, "p"), load_steel("14C28N"), hot).warnings
    assert "above what type 309 bears" in " ".join(said)


@pytest.mark.parametrize(("steel", "at", "asks"), EDGES)
def test_an_edge_steels_hot_temper_without_a_goal_asks_for_the_unit(steel: str, at: str, asks: bool) -> None:
    """O1 at 400 °F (204 °C) is an edge of 60 HRC and more; 5160 at 425 °C is a spring."""
    found = planned(steel, section="4 mm", treatment=(HARDEN, {**TEMPER, "at": at}))
    assert ("did you mean 400 °F (204 °C)?" in " ".join(found.warnings)) is asks


def test_an_oil_that_nobody_described_and_an_uneven_part_have_their_word() -> None:
    """Mineral quench oil at 40 to 70 °C, thick end first (common practice, no single source)."""
    said = " ".join(planned(section="16 mm", thinnest="1.6 mm").notes)
    assert "oil at 40-70 °C before the first part" in said
    assert "its thick end goes into the bath first" in said
    told = {**HARDEN, "oil": {"mass": "8 kg", "start": "50 C", "flash": "180 C"}}
    even = " ".join(planned(section="4 mm", treatment=(told, TEMPER)).notes)
    assert "before the first part" not in even
    assert "thick end" not in even
    assert "before the first part" not in " ".join(planned("A2", section="4 mm", surface="foil").notes)
