"""What the hands are allowed from oven to hand-warm: from recipe and steel through the plan to the screen."""

import pytest

from kilnctl.config.home import bundled, known
from kilnctl.config.oven import load_oven
from kilnctl.errors import ProfileError
from kilnctl.heat.telling.snapshot_builder import hand_times_s
from kilnctl.profile.segments import Operator, Profile
from kilnctl.profile.write import profile_toml
from kilnctl.tomlfile import loads
from kilnctl.treatment.job_file import load_job
from kilnctl.treatment.planning import plan
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.treatment.steel.steels import load_steel

FURNACE = load_oven(bundled("ovens") / "hardening-furnace.toml")


def quench(steel: str, section: str, thinnest: str = "", **more: object) -> Operator:
    """Return the quench of an invented part."""
    doing = {"do": "harden", "protection": "foil", **more}
    keys = {"name": "p", "steel": steel, "section": section, "treatment": (doing,), "surface": "foil"}
    keys |= {"thinnest": thinnest} if thinnest else {}
    made = plan(Recipe.model_validate(keys), load_steel(steel), FURNACE)
    return next(s for s in made.profile.segments if isinstance(s, Operator) and s.step == "quench")


def test_a_thin_blade_in_fast_oil() -> None:
    """2 mm from 830 degC, alone in still air until it is at 760: 4.8 s by a slab stepped apart from
    the program (590 J/kgK, 7700 kg/m3, 10 W/m2K; emissivity 0.8, which a thermography manual's table has for
    steel oxidised at 200 to 600 °C; its 0.89 at 1227 °C gives 4.4 s, its 0.55 to 0.61 of ground sheet at
    950 °C 6.1 to 6.6 s); about 7 s of fast oil (common practice, no single source).
    """
    times = hand_times_s(quench("1095", "2 mm", thinnest="2 mm", at="830 C", medium="fast oil"))
    assert times["transfer"] == pytest.approx(4.8, abs=0.3)
    assert times["bath"] == 7.0
    assert 300.0 < times["warm"] < 1500.0
    assert "clamp" not in times, "nobody said how long"


def test_the_recipe_wins() -> None:
    times = hand_times_s(quench("1095", "2 mm", medium="fast oil", in_oil="9 s", clamp="90 s"))
    assert (times["bath"], times["clamp"]) == (9.0, 90.0)


def test_what_nobody_knows_is_left_out() -> None:
    """Thick, or in water: until it can be held by hand. Plates or air: nothing cools on the way."""
    thick = quench("5160", "20 mm", medium="fast oil")
    assert set(hand_times_s(thick)) == {"transfer"}
    assert set(hand_times_s(quench("1095", "4 mm", medium="water or brine"))) == {"transfer"}
    air = quench("A2", "4 mm", medium="plates", preheat=False)
    assert set(hand_times_s(air)) == {"warm"}
    assert air.medium == "plates"


def test_no_other_step_counts() -> None:
    assert hand_times_s(None) == {}
    load = Operator.model_validate({"step": "load", "say": "load", "at_most": "1 h", "transfer": "5 s"})
    assert hand_times_s(load) == {}


def test_the_times_survive_the_profile_file() -> None:
    made = load_job(known("recipes")["marking-knife-1095-harden"], FURNACE).profile
    again = loads(profile_toml(made), Profile, ProfileError, "written")
    first = next(s for s in again.segments if isinstance(s, Operator) and s.step == "quench")
    assert hand_times_s(first)["bath"] == 7.0
    assert hand_times_s(first)["transfer"] == pytest.approx(1.3, abs=0.4), "0.8 mm cannot be walked"
    assert first.medium == "fast oil"


def test_no_time_is_nothing() -> None:
    text = 'name = "p"\n[[segment]]\nkind = "operator"\nstep = "quench"\nsay = "now"\nat_most = "5 min"\n'
    with pytest.raises(ProfileError, match="transfer"):
        loads(text + 'transfer = "0 s"\n', Profile, ProfileError, "written")


@pytest.mark.parametrize(
    ("at", "more", "hands"),
    [
        ("450 C", {}, ["unload", "load", "unload"]),
        ("450 C", {"cool": "shut", "count": 1, "gate": "200 C"}, []),
        ("205 C", {}, []),
        ("205 C", {"cool": "air", "count": 1}, ["unload"]),
    ],
)
def test_a_hot_temper_is_taken_out_to_cool_in_air(at: str, more: dict[str, object], hands: list[str]) -> None:
    """Nobody shuts a spring in a furnace for ten hours (common practice, no single source)."""
    temper = {"do": "temper", "at": at, "shield": "box", **more}
    keys = {"name": "p", "steel": "5160", "section": "5 mm", "treatment": (temper,)}
    made = plan(Recipe.model_validate(keys), load_steel("5160"), FURNACE)
    people = [s for s in made.profile.segments if isinstance(s, Operator)]
    assert [s.step for s in people] == hands
    assert all(s.hold_c is None for s in people), "the heat is off while hands are in it"


def test_air_has_no_gate_and_a_temper_no_foil_to_warn_of() -> None:
    temper = {"do": "temper", "at": "500 C", "cool": "air"}
    keys = {"name": "p", "steel": "D2", "section": "5 mm", "surface": "foil"}
    gated = Recipe.model_validate({**keys, "treatment": ({**temper, "gate": "80 C"},)})
    with pytest.raises(ProfileError, match="shut oven"):
        plan(gated, load_steel("D2"), FURNACE)
    made = plan(Recipe.model_validate({**keys, "treatment": (temper,)}), load_steel("D2"), FURNACE)
    assert not [s for s in made.profile.segments if isinstance(s, Operator) and "foil" in s.say]
