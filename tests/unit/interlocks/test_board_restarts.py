import pytest

from kilnctl.interlocks.board_restarts import BoardRestarts
from kilnctl.readings import Alarm, LinkHealth, Reaction


def starts_at(*times):
    return lambda s: {"link": LinkHealth(restarts=4 + sum(s >= at for at in times))}


def test_one_start_is_told_for_a_while_and_then_forgotten(make, let_watch, seen):
    restarts = make(BoardRestarts)
    assert let_watch(restarts, 99, starts_at(100)) is None
    assert isinstance(let_watch(restarts, 10, starts_at(100), start_s=100), Alarm)
    assert let_watch(restarts, 10, starts_at(100), start_s=701) is None


def test_three_starts_in_ten_minutes_stop_the_heat(make, seen):
    restarts, changes = make(BoardRestarts), starts_at(10, 200, 500)
    verdicts = [restarts.check(seen(s, **changes(s))) for s in range(600)]
    assert all(not v or isinstance(v, Alarm) for v in verdicts[:500])
    assert verdicts[500].reaction is Reaction.STOP
    assert "3 times in 10 min" in verdicts[500].reason


def test_two_starts_and_a_third_much_later_do_not(make, seen):
    restarts, changes = make(BoardRestarts), starts_at(10, 200, 811)
    assert all(
        v is None or isinstance(v, Alarm)
        for v in (restarts.check(seen(s, **changes(s))) for s in range(1400))
    )


def off_at(*times):
    return lambda s: {"heat_on": s not in times}


def pulsed(bare, holds_s, **more):
    heater = bare.output.heater.model_copy(update={"kind": "pulse", "holds_s": holds_s, **more})
    output = bare.output.model_copy(update={"heater": heater, "contactor": None})
    return bare.model_copy(update={"output": output, "dead_man": None})


def test_an_output_that_a_board_drops_by_itself_is_told_and_the_third_time_stops(make, seen, bare):
    for oven in (bare, pulsed(bare, 5.0)):
        restarts, changes = make(BoardRestarts, oven), off_at(10, 40, 90)
        verdicts = [restarts.check(seen(s, **changes(s))) for s in range(100)]
        assert verdicts[9] is None
        assert "dropped its output by itself; it may have restarted" in verdicts[10].reason
        assert isinstance(verdicts[89], Alarm)
        assert verdicts[90].reaction is Reaction.STOP


def test_a_contactor_that_drops_under_heat_is_told(make, let_watch):
    dropped = lambda s: {"contactor_on": s != 10}  # noqa: E731
    assert let_watch(make(BoardRestarts), 20, dropped).at_s == 10


@pytest.mark.parametrize(
    "sound",
    [
        lambda s: {"heat_on": s % 4 == 0, "heat_asked": s % 4 == 0},  # windows: switched off by us
        lambda s: {"heat_on": s % 4 == 1, "heat_asked": s % 4 == 0},  # a write that was lost, each time
        lambda s: {"heat_on": None if s % 9 == 0 else s % 9 != 1},  # off was sent for a look that failed
        lambda s: {"heat_on": s % 9 != 1, "door_open": True},  # a switch at the door cuts it
        lambda s: {"heat_on": s % 9 != 1, "limit_open": True},
        lambda s: {"heat_on": s % 9 != 1, "segment_kind": "operator"},  # an isolator that was asked for
        lambda s: {"heat_on": s % 9 != 1, "link": LinkHealth(greetings=int(s + 8) // 9)},  # off by us
    ],
)  # fmt: skip
def test_an_output_that_is_off_for_a_reason_is_no_drop(make, let_watch, sound):
    assert let_watch(make(BoardRestarts), 60, sound) is None


@pytest.mark.parametrize(("late_s", "told"), [(1.0, True), (3.0, True), (5.0, False), (9.0, False)])
def test_a_pulse_that_runs_out_in_a_late_tick_is_no_drop(make, seen, bare, late_s, told):
    restarts = make(BoardRestarts, pulsed(bare, 5.0))
    assert restarts.check(seen(0.0)) is None
    assert restarts.check(seen(1.0)) is None
    assert (restarts.check(seen(1.0 + late_s, heat_on=False)) is not None) is told


@pytest.mark.parametrize(("holds_s", "told"), [(5.0, True), (2.2, False)])
def test_on_a_wire_that_loses_words_one_write_may_have_been_lost(make, seen, bare, holds_s, told):
    lossy = LinkHealth(bad_fraction=0.02)
    restarts = make(BoardRestarts, pulsed(bare, holds_s))
    for s in (0.0, 1.0):
        assert restarts.check(seen(s, link=lossy)) is None
    assert (restarts.check(seen(2.0, heat_on=False, link=lossy)) is not None) is told


def test_a_start_that_is_told_and_the_drop_that_it_makes_count_once(make, seen):
    restarts = make(BoardRestarts)
    starts = starts_at(10, 100)

    def verdict(s):
        return restarts.check(seen(s, heat_on=s not in (10, 101), **starts(s)))

    assert all(v is None or isinstance(v, Alarm) for v in map(verdict, range(200)))
    assert restarts.distance().value == 2


def test_a_duty_whose_back_is_a_relay_that_the_board_switches_says_nothing(make, let_watch, bare, by_duty):
    duty = by_duty(bare)
    heater = duty.output.heater.model_copy(update={"back": bare.signal.heater_live})
    output = duty.output.model_copy(update={"heater": heater, "contactor": None})
    restarts = make(BoardRestarts, duty.model_copy(update={"output": output}))
    assert restarts.blind
    assert let_watch(restarts, 60, lambda s: {"heat_on": s % 5 != 0}) is None
