import random

from kilnctl.devices.health import Health
from kilnctl.interlocks.link_lost import ForeignTalk, LinkLost
from kilnctl.readings import LinkHealth, Quality, Reading


def test_four_silent_ticks_trip_three_do_not(make, let_watch):
    mute = {"process": Reading.bad(Quality.NO_REPLY, "", 0.0)}
    assert let_watch(make(LinkLost), 2, mute) is None
    assert let_watch(make(LinkLost), 10, mute).at_s == 3.0


def test_an_answer_older_than_three_ticks_trips(make, let_watch):
    assert let_watch(make(LinkLost), 5, {"link": LinkHealth(age_s=3.0)}) is None
    assert let_watch(make(LinkLost), 5, {"link": LinkHealth(age_s=3.01)}) is not None


def test_more_than_15_per_cent_of_bad_answers_trips_after_a_whole_window(make, let_watch):
    assert let_watch(make(LinkLost), 300, {"link": LinkHealth(bad_fraction=0.15)}) is None
    trip = let_watch(make(LinkLost), 300, {"link": LinkHealth(bad_fraction=0.30)})
    assert trip.at_s <= 30.0
    assert "30%" in trip.reason


def ticks(share, seconds, dice, seen, interlock):
    """Return when it trips on a wire that was sound for 40 s: sensor, heater, write, then the dead-man."""
    health = Health()
    for second in range(seconds):
        lost = share if second >= 40 else 0.0
        for _ in range(4):
            health.note(dice.random() >= lost, float(second))
        bad, every = health.bad_and_all(float(second))
        if interlock.check(seen(second, link=LinkHealth(bad_fraction=bad / every))) is not None:
            return second - 40
    return None


def test_three_in_ten_bad_are_found_within_30_s_where_a_tick_has_four_exchanges(make, seen):
    """The hazard list's own two numbers (H31); the draw is binomial, from a seeded generator."""
    dice = random.Random(1)
    found = [ticks(0.3, 90, dice, seen, make(LinkLost)) for _ in range(700)]
    assert max(found) <= 30


def test_one_in_twenty_bad_goes_on_for_hours(make, seen):
    dice = random.Random(1)
    assert [ticks(0.05, 3600, dice, seen, make(LinkLost)) for _ in range(4)] == [None] * 4


def test_one_bad_answer_of_the_first_two_is_no_share(make, let_watch):
    early = lambda s: {"link": LinkHealth(bad_fraction=0.5 if s < 5 else 0.05)}  # noqa: E731
    assert let_watch(make(LinkLost), 120, early) is None


def test_three_strange_frames_in_a_minute_trip(make, let_watch):
    talk = lambda s: {"link": LinkHealth(foreign=int(s // 10))}  # noqa: E731
    assert let_watch(make(ForeignTalk), 60, talk).at_s == 30.0


def test_a_strange_frame_now_and_then_does_not(make, let_watch):
    rare = lambda s: {"link": LinkHealth(foreign=7 + int(s // 50))}  # noqa: E731
    assert let_watch(make(ForeignTalk), 1000, rare) is None
