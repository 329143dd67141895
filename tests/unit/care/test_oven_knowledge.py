"""What a heat finds changed is kept for the next, taken back when it is gone, and never learned away."""

from dataclasses import replace

import pytest

from kilnctl.care.oven_knowledge import Known, found_changed, known_of
from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.control.heat_controller import Evidence, HeatController
from kilnctl.heat.job import Job
from kilnctl.logbook.entries import LearnedOven, OvenChange, Survey, add
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.model.nameplate import nameplate
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.dry_run import rehearse

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
MODEL = nameplate(OVEN)
FRESH = Known(MODEL, 7)
SLOW = Evidence(sure=True, lag=1.5, power=0.99, lag_sd=0.03, power_sd=0.02, lag_noticed=True)
WEAK = Evidence(sure=True, lag=1.02, power=0.85, lag_sd=0.03, power_sd=0.02, power_noticed=True)


def after(known, seen):
    change = found_changed(OVEN.name, known, seen, 3)
    return known if change is None else Known(known.model, known.number, change)


@pytest.mark.parametrize(("seen", "lag", "power"), [(SLOW, 1.5, 1.0), (WEAK, 1.0, 0.85)])
def test_only_what_was_noticed_is_kept(seen, lag, power):
    change = found_changed(OVEN.name, FRESH, seen, 3)
    assert (change.lag, change.power, change.learned, change.run) == (lag, power, 7, 3)
    assert "watchdog does not" in change.note


@pytest.mark.parametrize(
    "seen",
    [
        Evidence(sure=False, lag=1.5, lag_noticed=True),
        Evidence(sure=True, lag=1.2, power=0.97),
        Evidence(sure=True, lag=3.5, lag_noticed=True),
        Evidence(sure=True, power=0.6, power_noticed=True),
    ],
    ids=["a heat too short or a model set aside", "not noticed", "no ageing is that slow", "nor that weak"],
)
def test_nothing_is_kept_of(seen):
    assert found_changed(OVEN.name, FRESH, seen, 3) is None


def test_the_next_heat_confirms_it_without_another_entry_and_adds_to_it():
    known = after(FRESH, SLOW)
    assert found_changed(OVEN.name, known, Evidence(sure=True, lag=1.02, power=1.01), 4) is None
    more = found_changed(OVEN.name, known, Evidence(sure=True, lag=1.3, lag_noticed=True), 4)
    assert more.lag == pytest.approx(1.95)


def test_an_oven_that_was_mended_is_as_learned_again():
    known = after(FRESH, SLOW)
    back = found_changed(OVEN.name, known, Evidence(sure=True, lag=1 / 1.5, lag_noticed=True), 4)
    assert (back.lag, back.power) == (1.0, 1.0)


def test_control_counts_on_the_learned_power_and_forecasts_on_the_weak_one():
    known = after(FRESH, WEAK)
    assert known.likely_model.power == pytest.approx(0.85)
    assert known.control_model == MODEL
    assert "control finds it again" in known.words()
    # Still weak, seen from the learned power: nothing is charged twice.
    assert found_changed(OVEN.name, known, WEAK, 4) is None
    stronger = after(FRESH, Evidence(sure=True, power=1.12, power_noticed=True))
    assert stronger.control_model.power == pytest.approx(1.12)


@pytest.mark.parametrize("seen", [Evidence(sure=False), SLOW], ids=["as learned", "a slower sensor"])
def test_the_rest_of_a_heat_is_told_by_the_learned_cooling(seen):
    slower_wall = replace(MODEL, wall=2.0 * MODEL.wall)
    known = after(Known(replace(MODEL, cools=slower_wall), 7), seen)
    for model in (known.control_model, known.likely_model):
        assert model.cools.wall == slower_wall.wall
        assert model.cools.sheath_s == model.sheath_s


def test_a_supply_that_is_back_is_forgotten_by_a_heat_that_looked_and_by_no_other():
    known = after(FRESH, WEAK)
    assert found_changed(OVEN.name, known, Evidence(sure=True, power=0.97), 4) is None
    back = found_changed(OVEN.name, known, Evidence(sure=True, power=0.97, as_started=True), 4)
    assert (back.lag, back.power) == (1.0, 1.0)
    slow = after(FRESH, SLOW)
    assert found_changed(OVEN.name, slow, Evidence(sure=True, lag=0.96, as_started=True), 4) is None


def test_the_logbook_gives_it_to_the_next_heat_until_the_oven_is_learned_anew():
    with Logbook(None) as book:
        assert known_of(Reader(book.connection), OVEN) is None
        number = add(book, LearnedOven(OVEN.name, MODEL.to_dict()), 1.0)
        assert known_of(Reader(book.connection), OVEN).words() == ""
        add(book, OvenChange(OVEN.name, number, lag=1.5, run=3), 2.0)
        known = known_of(Reader(book.connection), OVEN)
        assert known.words() == "run 3 found: sensor lag x 1.50; control starts from it"
        assert known.control_model.sheath_s == pytest.approx(1.5 * MODEL.sheath_s)
        assert known.model == MODEL
        add(book, OvenChange(OVEN.name, number), 3.0)
        assert known_of(Reader(book.connection), OVEN).change is None
        add(book, OvenChange(OVEN.name, number, lag=1.5, run=4), 4.0)
        add(book, LearnedOven(OVEN.name, MODEL.to_dict()), 5.0)
        assert known_of(Reader(book.connection), OVEN).change is None


def limits_of(station):
    """Return every number that the interlocks of a station hold."""
    return [
        (i.kind, name, value)
        for i in station.interlocks
        for name, value in sorted(vars(i).items())
        if isinstance(value, float)
    ]


def test_interlocks_and_watchdog_keep_to_the_learned_model():
    start = MODEL.scaled(lag=8.0, power=0.8)  # far enough to pass the floors of the limits
    profile = Profile.model_validate({"name": "x", "segment": ({"kind": "ramp", "to": "60 C"},)})
    station = rehearse(OVEN, Job(profile), model=MODEL, start=start).station
    assert isinstance(station.controller, HeatController)
    assert station.controller.model_path.filter.base == start
    assert station.controller._observer._filter.base == MODEL
    assert limits_of(station) == limits_of(rehearse(OVEN, Job(profile), model=MODEL).station)
    assert limits_of(station) != limits_of(rehearse(OVEN, Job(profile), model=start).station)


def test_a_survey_goes_with_the_learned_oven_into_plan_and_heat_and_through_a_change():
    with Logbook(None) as book:
        add(book, LearnedOven(OVEN.name, MODEL.to_dict()), 0.0)
        survey = Survey(OVEN.name, 218.0, (("a", 218.0), ("b", 238.0)), 0.0, 20.0, most_c=250.0)
        add(book, survey, 1.0)
        known = known_of(Reader(book.connection), OVEN)
        assert [one[:3] for one in known.model.surveyed] == [(218.0, 20.0, 32.0)]
        slow = Known(known.model, known.number, OvenChange(OVEN.name, known.number, 1.5, 0.9))
        assert slow.likely_model.surveyed == slow.control_model.surveyed == known.model.surveyed
