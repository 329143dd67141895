"""The skin of a thin edge in a running heat: two numbers, a limit near a temper, and never a starved soak."""

from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.forecast.heat_simulation import HeatSimulation, SimulatedState, resting
from kilnctl.heat.skin_watch import skin_watch
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance, at_rest
from kilnctl.model.part_view import view_of
from kilnctl.model.surveyed import Surveyed
from kilnctl.profile.cursor import Cursor
from kilnctl.profile.cursor import advance as move
from kilnctl.profile.segments import Profile, Ramp
from kilnctl.treatment.edge.edge_forecast import Rates, over_k

OVEN = load_oven(Path("profiles/ovens/hardening-furnace.toml"))
MODEL = nameplate(OVEN)


def temper(**keys):
    """A temper of an invented blade at 218 degC."""
    why = {"purpose": "temper"}
    ramp = {"kind": "ramp", "to": "218 C", **why}
    soak = {"kind": "soak", "at": "218 C", "time": "30 min", "clock": "part", "band": "3 K", **why, **keys}
    return Profile.model_validate({"name": "blade (invented)", "section": "2 mm", "segment": (ramp, soak)})


def heated(watch, duty, minutes, model=MODEL):
    """Let an oven run that is as the model says; the watch sees its sensor only. Duty as watched."""
    state, bound = at_rest(20.0), 1.0
    for _ in range(minutes * 60):
        heat = min(duty, watch.most_duty)
        state = advance(model, state, heat, 20.0, 1.0)
        watch.see(0, True, state.junction_c, heat, 1.0)
        bound = min(bound, watch.most_duty)
    return state, bound


def test_on_full_heat_the_edge_passes_the_sensor_and_is_told_as_two_numbers():
    watch = skin_watch(OVEN, temper(), MODEL)
    state, _ = heated(watch, 1.0, 3)
    assert state.junction_c < watch.now.likely_c < watch.now.most_c < state.element_c


def test_near_its_goal_the_duty_is_held_down_to_what_holds_the_oven_and_half_more():
    watch = skin_watch(OVEN, temper(), MODEL)
    state, most = heated(watch, 1.0, 25)
    assert most < 0.3
    loose, _ = heated(skin_watch(OVEN, temper(purpose="harden"), MODEL), 1.0, 25)
    assert loose.junction_c > state.junction_c + 200.0
    assert state.junction_c < 218.0


def test_a_soak_never_starves():
    """What holds the oven is always allowed: an edge that is too hot for good is the plan's business."""
    watch = skin_watch(OVEN, temper(), MODEL)
    state, _ = heated(watch, 1.0, 100)
    assert state.junction_c > 200.0


@pytest.mark.parametrize(("elements", "shield"), [("muffle", None), ("plate", None), ("open", "box")])
def test_where_no_element_sees_the_part_nothing_is_watched_or_limited(elements, shield):
    oven = OVEN.model_copy(update={"elements": elements})
    watch = skin_watch(oven, temper(**({"shield": shield} if shield else {})), MODEL)
    if watch is not None:
        heated(watch, 1.0, 20)
        assert watch.now is None
        assert watch.most_duty == 1.0
        assert watch.told() == {}


def test_the_kindest_explanation_counts_where_an_oven_was_learned_with_two():
    cool = replace(MODEL, element_linear=0.01, learned=True)
    two = replace(MODEL, learned=True, bound=cool)
    one, both = skin_watch(OVEN, temper(), replace(MODEL, learned=True)), skin_watch(OVEN, temper(), two)
    heated(one, 0.3, 15)
    heated(both, 0.3, 15)
    assert both.now.most_c < one.now.most_c


def test_the_record_says_the_highest_skin_of_a_temper_and_the_way_to_it():
    watch = skin_watch(OVEN, temper(), MODEL)
    heated(watch, 1.0, 8)
    watch.see(1, True, 218.0, 0.1, 5.0)
    assert "at most, for a goal of 218 °C" in watch.told()["thin edge"]
    assert "not measured" in watch.told()["thin edge"]


def test_of_an_oven_that_nobody_learned_the_record_knows_no_skin():
    """Its nameplate said 232 degC, 277 at most, where the plan of the same heat said 205 and 227."""
    known, guessed = skin_watch(OVEN, temper(), MODEL), skin_watch(OVEN, temper(), None)
    for watch in (known, guessed):
        heated(watch, 1.0, 8)
        watch.see(1, True, 218.0, 0.1, 5.0)
    assert known.told()["thin edge"].startswith("about")
    assert guessed.told()["thin edge"].startswith("not known")


def test_plan_and_heat_of_a_learned_oven_tell_one_skin():
    """The same oven, ideal control: the plan's highest and what the watch saw differ by a kelvin or two."""
    model, why = replace(MODEL, learned=True), {"purpose": "temper"}
    ramp = Ramp.model_validate({"kind": "ramp", "to": "218 C", "rate": "100 C/h", **why})
    profile = temper().model_copy(update={"segments": (ramp, temper().segments[1])})
    rates, view = Rates(100.0, 100.0), view_of(OVEN.elements)
    planned = [
        over_k(profile, rates, profile.segments[1], OVEN, model, v, most).peak_k
        for v, most in zip(view, (False, True), strict=True)
    ]
    watch, cold = skin_watch(OVEN, profile, model), SimulatedState(resting(20.0, 20.0))
    heat = HeatSimulation(profile, model, 20.0, cold)
    while not heat.over:
        heat.step()
        watch.see(min(heat.segment, 1), True, heat.oven.junction_c, heat.duty, 20.0)
    seen = watch.peaks[1]
    assert [seen.likely_c - 218.0, seen.most_c - 218.0] == pytest.approx(planned, abs=2.0)


def test_the_record_gets_a_course_to_draw_that_stays_short():
    watch = skin_watch(OVEN, temper(), MODEL)
    heated(watch, 0.2, 20)
    course = watch.told()["thin edge course"] if watch.told() else watch.course
    assert 15 <= len(course) <= 21
    for _ in range(1500):
        watch.see(1, True, 218.0, 0.1, 60.0)
    course = watch.told()["thin edge course"]
    assert len(course) <= 600
    assert course[-1][0] > 0.95 * (1200 + 1500 * 60)
    assert all(low <= high for _, low, high in course)


@pytest.mark.parametrize(
    ("part_c", "counted"), [(189.0, False), (191.0, True), (205.0, True), (222.0, False)]
)
def test_a_lowered_soak_counts_while_its_part_lies_between_sensor_and_goal(part_c, counted):
    cursor = move(temper(sensor="193 C"), Cursor(1, setpoint_c=193.0), 193.0, part_c, 1.0)
    assert (cursor.soak_part_s > 0.0) is counted
    assert cursor.setpoint_c == 193.0
    assert cursor.soak_oven_s == 1.0


def test_a_surveyed_oven_tells_the_skin_of_its_hottest_place_and_limits_nothing():
    """Door corner 90: 54 K hotter than the sensor in the hold, 68 on the way, whatever hides the elements."""
    hidden = OVEN.model_copy(update={"elements": "muffle"})
    known = replace(MODEL, learned=True, surveyed=(Surveyed(218.0, 54.0, 68.0),))
    for oven in (hidden, OVEN):
        watch = skin_watch(oven, temper(), known)
        for _ in range(7200):
            watch.see(1, True, 170.0, 0.2, 1.0)
        share = (170.0 - OVEN.ambient_c) / (218.0 - OVEN.ambient_c)
        assert watch.now.likely_c == pytest.approx(170.0 + share * 54.0, abs=1.0)
        assert watch.now.most_c == pytest.approx(170.0 + share * 68.0, abs=1.0)
        assert watch.most_duty == 1.0
        assert "by the survey of its place" in watch.told()["thin edge"]
    assert skin_watch(hidden, temper(), replace(MODEL, learned=True)) is None
    unknown = skin_watch(OVEN, temper(), replace(MODEL, learned=True))
    heated(unknown, 0.3, 15)
    unknown.see(1, True, 100.0, 0.0, 5.0)
    assert "never surveyed" in unknown.told()["thin edge"]


@pytest.mark.parametrize(
    ("survey", "lifted", "said"),
    [
        (Surveyed(218.0, 12.0, 30.0), True, "at 218 °C (424 °F), not measured today"),
        (Surveyed(218.0, 0.0), False, "tells nothing of the way up"),
        (Surveyed(400.0, 0.0, 0.0), False, "that survey was made at another temperature"),
    ],
)
def test_only_a_survey_of_this_temperature_that_knows_the_way_up_lifts_the_bound(survey, lifted, said):
    """Full heat that is asked into a temper in sight of open coils: any survey at all let it all through."""
    model = replace(MODEL, learned=True)
    watch = skin_watch(OVEN, temper(), replace(model, surveyed=(survey,)))
    state, least = heated(watch, 1.0, 25, model)
    _, alone = heated(skin_watch(OVEN, temper(), model), 1.0, 25, model)
    assert least == (1.0 if lifted else pytest.approx(alone))
    assert (state.junction_c > 300.0) is lifted
    watch.see(1, True, state.junction_c, 0.1, 5.0)
    assert said in watch.told()["thin edge"]
    # What the survey does not know is told as it is estimated, not as it was measured elsewhere.
    assert ("estimated" in watch.told()["thin edge"]) is not lifted
    assert lifted or watch.peaks[0].most_c > watch.peaks[0].likely_c + 10.0
