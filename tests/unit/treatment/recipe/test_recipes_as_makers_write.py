"""Recipes as makers write them: a stack, a wait, an oven that is hot beforehand, two ovens in one recipe.

Common practice, no single source: a tight pack heats as one section of its whole thickness, spaced parts as
the thickest of them. A plate behind an oven that climbs at R lags by R tau (1 - exp(-t / tau)) and closes to
within d after tau ln(lag / d), tau = rho c s / (2 h) (lumped body, Incropera); the check is that ratio.
"""

import math

import pytest
from pydantic import ValidationError

from kilnctl.config.oven import Measured, Oven
from kilnctl.errors import ConfigError, ProfileError, RunRefused
from kilnctl.model.part import inside
from kilnctl.profile.segments import Operator, Ramp, Soak, load_profile
from kilnctl.profile.write import profile_toml
from kilnctl.tomlfile import loads, made
from kilnctl.treatment.recipe.recipes import Recipe
from tests.trade_plans import FURNACE, OVEN, planned, recipe_of

TEMPER = {"do": "temper", "at": "205 C", "oven": "tempering-oven"}
HARDEN = {"do": "harden", "oven": "hardening-furnace"}
GOUGES = tuple({"name": f"gouge-{n}", "section": "3 mm"} for n in range(1, 7))


def temper_late_s(**keys: object) -> float:
    plan_ = planned("1084", TEMPER, oven=OVEN, section=None, surface="bright", **keys)
    return plan_.rows[1].duration_s - 7200.0


def test_spaced_parts_heat_as_the_thickest_of_them() -> None:
    mixed = ({"name": "knife", "section": "2 mm"}, {"name": "gouge", "section": "4 mm"})
    alone = temper_late_s(parts=({"name": "gouge", "section": "4 mm"},))
    assert temper_late_s(parts=mixed) == pytest.approx(alone, abs=11.0)


def test_a_tight_stack_heats_as_one_section() -> None:
    one = temper_late_s(parts=GOUGES[:1])
    three = temper_late_s(parts=GOUGES[:3], stack="tight")
    # Bright steel near 205 C: h about 13 W/m2K, c about 520 J/kgK; 400 C/h to 205 C, within 3 K.
    tau_s = [7850 * 520 * 0.003 * n / 2 / 13 for n in (1, 3)]
    closes_s = [t * math.log(400 / 3600 * t * (1 - math.exp(-1665 / t)) / 3.0) for t in tau_s]
    assert three / one == pytest.approx(closes_s[1] / closes_s[0], rel=0.15)


@pytest.mark.parametrize(("load", "said"), [("cold", True), ("hot", False)])
def test_a_part_that_is_loaded_first_is_not_put_into_an_oven_hot_from_another_heat(
    load: str, said: bool
) -> None:
    """A temper at 205 °C in an oven that stands at 500 °C is 500 °C: common sense, no source."""
    notes = planned("1084", {**TEMPER, "load": load}, oven=OVEN, section="3 mm").notes
    assert any("load only while the oven is below 205 °C" in note for note in notes) is said


@pytest.mark.parametrize(
    ("stack", "says"), [("spaced", "air between them"), ("tight", "one solid piece of 9")]
)
def test_a_plan_says_how_its_parts_must_lie(stack: str, says: str) -> None:
    notes = planned("1084", TEMPER, oven=OVEN, section=None, parts=GOUGES[:3], stack=stack).notes
    assert any(says in note for note in notes)


def test_each_part_of_a_load_is_named_in_the_profile_and_its_file() -> None:
    profile = planned("1084", TEMPER, oven=OVEN, section=None, parts=GOUGES).profile
    assert profile.parts == tuple(f"gouge-{n}" for n in range(1, 7))
    again = loads(profile_toml(profile), type(profile), ProfileError, "p")
    assert again.parts == profile.parts
    assert load_profile  # the file's own reader takes the same model


def test_each_named_part_has_its_own_quench_under_its_name() -> None:
    plan_ = planned("1084", HARDEN, TEMPER, oven=FURNACE, section=None, thinnest="1 mm", parts=GOUGES)
    quenches = [s for s in plan_.profile.segments if isinstance(s, Operator) and s.step == "quench"]
    assert [q.label for q in quenches] == [f"quench {n} of 6: gouge-{n}" for n in range(1, 7)]


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ({"parts": (*GOUGES, *GOUGES)}, "gouge-1"),
        ({"parts": GOUGES, "section": "2 mm"}, "section"),
        ({"parts": (), "stack": "tight"}, "parts"),
        ({"parts": GOUGES, "stack": "tight", "treatment": (HARDEN, TEMPER)}, "tight"),
    ],
)
def test_a_load_that_cannot_be_is_refused(keys: dict[str, object], says: str) -> None:
    data = {"name": "r", "steel": "1084", "treatment": (TEMPER,), **keys}
    with pytest.raises(Exception, match=says):
        Recipe.model_validate(data)


def test_a_wait_between_two_steps_has_its_longest_time_and_no_heat() -> None:
    wait = {"do": "wait", "at_most": "12h", "reason": "the full temper comes in the morning"}
    snap = {"do": "snap temper", "oven": "tempering-oven"}
    plan_ = planned("1084", snap, {**wait, "oven": "tempering-oven"}, TEMPER, oven=OVEN)
    waits = [s for s in plan_.profile.segments if isinstance(s, Operator)]
    assert [(s.step, s.at_most_s, s.hold_c) for s in waits] == [("confirm", 12 * 3600.0, None)]
    assert "12 h" in waits[0].say
    assert plan_.rows[-1].after.startswith("tempered")


def test_an_untempered_part_does_not_wait_longer_than_practice_bears() -> None:
    """Common practice: temper within the hour; a part cracks by itself within hours."""
    wait = {"do": "wait", "at_most": "8h", "oven": "tempering-oven"}
    plan_ = planned("O1", HARDEN, wait, TEMPER, oven=OVEN)
    assert any("untempered" in w for w in plan_.warnings)


def test_an_oven_hot_beforehand_waits_empty_and_counts_no_part() -> None:
    plan_ = planned("O1", HARDEN, {**TEMPER, "load": "hot", "wait": "3h"}, oven=OVEN)
    profile = plan_.profile
    load = next(n for n, s in enumerate(profile.segments) if isinstance(s, Operator) and s.step == "load")
    segment = profile.segments[load]
    assert isinstance(segment, Operator)
    assert segment.hold_c == 205.0
    assert segment.at_most_s == 3 * 3600.0
    assert not inside(profile, load)
    soaks = [n for n, s in enumerate(profile.segments) if isinstance(s, Soak) and s.clock == "part"]
    assert soaks
    assert all(inside(profile, n) for n in soaks)
    assert "hardening" not in {s.purpose for s in profile.segments}


def test_two_tempers_at_different_heats_are_counted_through() -> None:
    plan_ = planned("O1", {**TEMPER, "count": 1}, {**TEMPER, "at": "190 C", "count": 1}, oven=OVEN)
    labels = [s.label for s in plan_.profile.segments if isinstance(s, Soak)]
    assert labels == ["temper 1 at 205 °C: soak", "temper 2 at 190 °C: soak"]


def test_what_goes_to_another_oven_is_handed_over_by_a_step() -> None:
    anneal = {"do": "stress relief", "oven": "hardening-furnace"}
    plan_ = planned("O1", anneal, TEMPER | {"oven": "other-oven"}, oven=FURNACE)
    last = plan_.profile.segments[-1]
    assert isinstance(last, Operator)
    assert last.step == "unload"
    assert "other-oven" in last.say
    quenched = planned("O1", HARDEN, TEMPER, oven=FURNACE).profile.segments[-1]
    assert isinstance(quenched, Operator)
    assert "tempering-oven" in quenched.say


def test_one_number_is_a_goal() -> None:
    plan_ = planned("O1", {"do": "temper"}, oven=OVEN, goal_hrc=60)
    assert plan_.profile.goal_hrc == (60.0, 60.0)


def test_what_an_empty_oven_does_tempers_nothing() -> None:
    plan_ = planned("O1", HARDEN, {**TEMPER, "load": "hot"}, oven=OVEN)
    states = {row.label: row.after for row in plan_.rows}
    assert states["oven settles, empty"].startswith("hard and brittle")


MEASURED = {"heats_to": "800 C", "takes": "150 min", "holds_with": "1200 W"}


def known_furnace() -> Oven:
    return FURNACE.model_copy(update={"measured": made(MEASURED, Measured, ConfigError, "measured")})


def test_a_ramp_that_a_known_oven_cannot_follow_is_planned_as_it_will_be() -> None:
    """150 min to 800 °C are 312 °C/h in the mean, so 400 °C/h holds only at first."""
    plan_ = planned("O1", HARDEN, TEMPER, oven=known_furnace())
    first, second, soak = plan_.profile.segments[:3]
    assert isinstance(first, Ramp)
    assert isinstance(second, Ramp)
    assert isinstance(soak, Soak)
    assert first.rate_c_per_h == 400.0
    assert second.rate_c_per_h is None
    assert 100.0 < first.to_c < second.to_c == soak.at_c
    both_s = plan_.rows[0].duration_s + plan_.rows[1].duration_s
    assert both_s == pytest.approx(150 * 60, rel=0.15)
    assert not any("set-point waits" in w for w in plan_.warnings)
    assert plan_.rows[1].duration_s > (second.to_c - first.to_c) / 400.0 * 3600.0


def test_a_ramp_that_it_can_follow_stays_as_it_was() -> None:
    plan_ = planned("O1", {**HARDEN, "rate": "150 C/h"}, TEMPER, oven=known_furnace())
    ramps = [s for s in plan_.profile.segments if isinstance(s, Ramp)]
    assert [r.rate_c_per_h for r in ramps] == [150.0]


def test_a_rate_in_the_wrong_unit_is_asked_about() -> None:
    """A bench sheet that says 500 per hour may mean °F/h: 278 °C/h, which the oven can follow for longest."""
    plan_ = planned("O1", {**HARDEN, "rate": "500 C/h"}, TEMPER, oven=known_furnace())
    assert any("did you mean 500 °F/h (278 °C/h)?" in w for w in plan_.warnings)


def test_a_rate_that_fits_in_neither_unit_is_not_asked_about() -> None:
    plan_ = planned("O1", {**HARDEN, "rate": "3000 C/h"}, TEMPER, oven=known_furnace())
    assert any("is followed to about" in w for w in plan_.warnings)
    assert not any("meant" in w for w in plan_.warnings)


FOIL = {"do": "harden", "protection": "foil"}
AWAY = {"do": "temper", "oven": "x", "at": "190 C"}


def test_foil_named_at_the_hardening_is_heated_and_cut_open_as_foil() -> None:
    """Foil holds the heat back and must be cut open: nobody has to say twice that the part lies in it."""
    said = planned("AEB-L", FOIL, AWAY, section="2.5 mm")
    twice = planned("AEB-L", FOIL, AWAY, section="2.5 mm", surface="foil")
    assert said.profile == twice.profile
    steps = " ".join(s.say for s in said.profile.segments if isinstance(s, Operator))
    assert "cut the foil open" in steps
    assert any("nothing that burns" in w for w in said.warnings)
    coated = recipe_of("O1", {"do": "harden", "protection": "coating"}, AWAY)
    assert coated.surface == "coated"


@pytest.mark.parametrize("surface", ["bare", "bright"])
def test_foil_and_a_bare_surface_do_not_agree(surface: str) -> None:
    with pytest.raises(ValidationError, match="leave surface out"):
        recipe_of("AEB-L", FOIL, AWAY, surface=surface)


def test_an_anneal_without_a_type_is_told_which_there_are() -> None:
    with pytest.raises(ValidationError, match='"full", "spheroidise" or "subcritical"'):
        recipe_of("1080", {"do": "anneal", "at": "815 C"})


def test_who_wrote_fahrenheit_is_not_asked_whether_it_was_meant() -> None:
    """50 °F/h is 28 °C/h: above the 22 °C/h of the sheet of O1, and no slip of the unit."""
    found = planned("O1", {"do": "anneal", "type": "full", "at": "1440 F", "cool_rate": "50 F/h"}).warnings
    assert any("at most 22 °C/h" in w for w in found)
    assert not any("meant" in w for w in found)
    with pytest.raises(RunRefused, match=r"may go to 250 °C") as refused:
        planned("O1", {"do": "temper", "at": "700 F"}, oven=OVEN)
    assert "meant" not in str(refused.value)
    found = planned("1084", {"do": "harden", "at": "1620 F"}, AWAY, section="3 mm").warnings
    assert not any("meant" in w for w in found)


def test_three_refining_heats_say_that_the_bath_has_less_time() -> None:
    """Li, Niebuhr, Meekisho and Atteridge 1998: the pearlite start goes with 2^(0.32 G)."""
    assert pytest.approx(2.0, abs=0.1) == 2 ** (0.32 * 10) / 2 ** (0.32 * 7)
    falling = {"do": "normalise", "at": ("870 C", "830 C", "790 C")}
    said = planned("1084", falling, {"do": "harden"}, AWAY, section="3 mm")
    assert any("halves the time to the pearlite nose" in note for note in said.notes)
    once = planned("1084", {"do": "normalise", "at": ("870 C",)}, {"do": "harden"}, AWAY, section="3 mm")
    assert not any("halves" in note for note in once.notes)


def test_a_temper_above_the_table_says_that_nobody_knows_its_hardness() -> None:
    """The mill sheet of 440C ends at 540 °C."""
    found = planned("440C", FOIL, {"do": "temper", "at": "650 C"}, section="3 mm").warnings
    assert any("above every temper table on the card (to 540 °C)" in w for w in found)


def test_units_and_a_wait_that_nothing_uses_say_where_they_belong() -> None:
    with pytest.raises(ValidationError, match="give every number its unit"):
        recipe_of("O1", AWAY, units="F")
    with pytest.raises(ValidationError, match=r'wait is for load = "hot"'):
        recipe_of("O1", {**AWAY, "wait": "3h"})
    assert recipe_of("O1", {**AWAY, "wait": "3h", "load": "hot"})
