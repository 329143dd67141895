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
