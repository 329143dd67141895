"""How long it was dark: clocks against the cooling of an oven, which the simulator plays (other physics)."""

from dataclasses import replace

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.forecast.band import drawn
from kilnctl.logbook.readers import Curve, Reader
from kilnctl.logbook.records import RunHeader
from kilnctl.logbook.sample import Sample
from kilnctl.logbook.writer import Logbook
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import OvenModel, advance, at_rest
from kilnctl.permits.outage import LONGEST_S, Now, Then, by_clocks_s, coast, outage_of, state_at_cut

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
MODEL = nameplate(OVEN)


@pytest.fixture(scope="module")
def heated(tmp_path_factory) -> tuple[Curve, OvenModel, object]:
    """A heat of the model oven by hand: full power to 218 degC, then on and off, one sample in 2 s."""
    state, samples = at_rest(20.0), []
    for i in range(90 * 30):
        on = state.junction_c < 218.0
        samples.append(Sample(2.0 * i, 2.0 * i, 1, 0, 218.0, state.junction_c, float(on), on))
        state = advance(MODEL, state, float(on), 20.0, 2.0)
    book = Logbook(tmp_path_factory.mktemp("heat") / "book.sqlite")
    run = book.start_run(RunHeader("o", "", "", "p", 0.0, period_s=2.0))
    book.append(run, samples, [])
    curve = Reader(book.connection).curve(run)
    book.close()
    return curve, MODEL, state


def after(state, seconds: float, model: OvenModel = MODEL) -> float:
    for _ in range(int(seconds / 10)):
        state = advance(model, state, 0.0, 20.0, 10.0)
    return float(state.junction_c)


@pytest.mark.parametrize("minutes", [2, 15, 40])
def test_clocks_and_cooling_agree(heated, minutes: int) -> None:
    curve, model, state = heated
    now_c = after(state, minutes * 60.0)
    found = outage_of(minutes * 60.0, curve, model, 20.0, now_c)
    assert found.seconds == minutes * 60.0
    assert found.by_cooling_s == pytest.approx(minutes * 60.0, abs=90.0)
    at_s, at_c = found.trace[-1]
    assert at_s == min(minutes * 60.0, found.by_cooling_s)  # only its heat-up is learned
    assert at_c == pytest.approx(now_c, abs=0.6)
    assert "by the clocks" in found.line()


def test_a_set_clock_an_opened_door_or_a_cold_oven_leave_it_unknown(heated) -> None:
    curve, model, state = heated
    now_c = after(state, 2400.0)
    assert "differ" not in outage_of(2400.0 * 1.25, curve, model, 20.0, now_c).why_unknown
    assert outage_of(2400.0 * 1.25, curve, model, 20.0, now_c).seconds is not None
    for clocks_s in (600.0, 6000.0):
        found = outage_of(clocks_s, curve, model, 20.0, now_c)
        assert found.seconds is None
        assert found.trace == ()
        assert "has changed" in found.line()
    assert "clock" in outage_of(None, curve, model, 20.0, now_c).why_unknown
    assert "cold as the room" in outage_of(2400.0, curve, model, 20.0, 30.0).why_unknown


def test_the_learned_cooling_is_the_witness_where_it_is_there(heated) -> None:
    """A heavy wall: it cools in 1.75 times what its heat-up foretells."""
    curve, model, _ = heated
    slow = replace(
        model,
        wall_conductance=model.wall_conductance / 2.5,
        leak=model.leak / 2.5,
        cools=None,
    )
    state = state_at_cut(curve, slow, 20.0)
    now_c = after(state, 3600.0, slow)
    learned = outage_of(3600.0, curve, replace(model, cools=slow), 20.0, now_c)
    assert learned.seconds == 3600.0
    assert learned.by_cooling_s == pytest.approx(3600.0, abs=60.0)
    assert learned.trace[-1][0] == pytest.approx(3600.0)
    guessed = outage_of(3600.0, curve, model, 20.0, now_c)
    assert guessed.by_cooling_s < 0.7 * 3600.0
    assert guessed.seconds is None
    assert "tune --cooling" in guessed.line()
    # Nearer, they agree: the part is credited with the shorter of the two, without a learned cooling.
    between = outage_of(1.3 * guessed.by_cooling_s, curve, model, 20.0, now_c)
    assert between.seconds == 1.3 * guessed.by_cooling_s
    assert between.trace[-1][0] == pytest.approx(guessed.by_cooling_s)


def test_a_record_without_a_good_reading_tells_nothing(tmp_path) -> None:
    book = Logbook(tmp_path / "book.sqlite")
    run = book.start_run(RunHeader("o", "", "", "p", 0.0))
    book.append(run, [Sample(0.0, 0.0, 1, 0, None, None, 0.0, None)], [])
    curve = Reader(book.connection).curve(run)
    book.close()
    assert outage_of(600.0, curve, MODEL, 20.0, 100.0).seconds is None


def test_an_oven_that_is_a_little_other_than_its_model_still_agrees(heated) -> None:
    curve, model, state = heated
    close = OvenModel.from_dict(
        {**model.to_dict(), "covariance": [[v * 0.02 for v in row] for row in model.covariance]}
    )
    for seed in range(4):
        now_c = after(state, 1800.0, drawn(close, seed))
        assert outage_of(1800.0, curve, model, 20.0, now_c).seconds is not None, seed


def test_the_clocks() -> None:
    then = Then(1000.0, 50.0, "a")
    assert by_clocks_s(then, Now(1600.0, 650.0, "a")) == 600.0
    assert by_clocks_s(then, Now(0.0, 650.0, "a")) == 600.0  # the wall clock was set back: no matter
    assert by_clocks_s(then, Now(1600.0, 40.0, "a")) is None
    assert by_clocks_s(then, Now(1600.0, 30.0, "b")) == 600.0
    assert by_clocks_s(then, Now(1010.0, 30.0, "b")) is None  # up for longer than the wall clock says
    assert by_clocks_s(then, Now(500.0, 30.0, "b")) is None
    # A system that does not name its starts: the wall clock has to do, and must fit.
    assert by_clocks_s(Then(1000.0, 50.0, ""), Now(1600.0, 550.0, "")) == 600.0
    assert by_clocks_s(Then(1000.0, 50.0, ""), Now(1600.0, 650.0, "")) is None


def test_the_way_down_is_followed_for_a_day_at_most() -> None:
    course = coast(MODEL, at_rest(218.0, 20.0), 20.0, 15.0)  # 15 degC never comes in a room of 20
    assert course[-1] == (LONGEST_S, 15.0)
    assert course[-2][1] == pytest.approx(20.0, abs=1.0)
    later_c = [at_c for at_s, at_c in course if at_s > 600.0]
    assert later_c == sorted(later_c, reverse=True)
