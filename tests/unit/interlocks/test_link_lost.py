from kilnctl.interlocks.link_lost import ForeignTalk, LinkLost
from kilnctl.readings import LinkHealth, Quality, Reading


def test_four_silent_ticks_trip_three_do_not(make, let_watch):
    mute = {"process": Reading.bad(Quality.NO_REPLY, "", 0.0)}
    assert let_watch(make(LinkLost), 2, mute) is None
    assert let_watch(make(LinkLost), 10, mute).at_s == 3.0


def test_an_answer_older_than_three_ticks_trips(make, let_watch):
    assert let_watch(make(LinkLost), 5, {"link": LinkHealth(age_s=3.0)}) is None
    assert let_watch(make(LinkLost), 5, {"link": LinkHealth(age_s=3.01)}) is not None


def test_a_fifth_of_bad_answers_trips_after_a_whole_window(make, let_watch):
    assert let_watch(make(LinkLost), 300, {"link": LinkHealth(bad_fraction=0.20)}) is None
    trip = let_watch(make(LinkLost), 300, {"link": LinkHealth(bad_fraction=0.30)})
    assert trip.at_s <= 30.0
    assert "30%" in trip.reason


def test_one_bad_answer_of_the_first_two_is_no_share(make, let_watch):
    early = lambda s: {"link": LinkHealth(bad_fraction=0.5 if s < 5 else 0.05)}  # noqa: E731
    assert let_watch(make(LinkLost), 120, early) is None


def test_three_strange_frames_in_a_minute_trip(make, let_watch):
    talk = lambda s: {"link": LinkHealth(foreign=int(s // 10))}  # noqa: E731
    assert let_watch(make(ForeignTalk), 60, talk).at_s == 30.0


def test_a_strange_frame_now_and_then_does_not(make, let_watch):
    rare = lambda s: {"link": LinkHealth(foreign=7 + int(s // 50))}  # noqa: E731
    assert let_watch(make(ForeignTalk), 1000, rare) is None
