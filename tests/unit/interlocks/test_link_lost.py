import math
import random

import pytest
from scipy.stats import binom

from kilnctl.devices.health import Health, of_all
from kilnctl.interlocks.link_lost import ForeignTalk, LinkLost, most_bad
from kilnctl.readings import LinkHealth, Quality, Reading


def test_four_silent_ticks_trip_three_do_not(make, let_watch):
    mute = {"process": Reading.bad(Quality.NO_REPLY, "", 0.0)}
    assert let_watch(make(LinkLost), 2, mute) is None
    assert let_watch(make(LinkLost), 10, mute).at_s == 3.0


def test_an_answer_older_than_three_ticks_trips(make, let_watch):
    assert let_watch(make(LinkLost), 5, {"link": LinkHealth(age_s=3.0)}) is None
    assert let_watch(make(LinkLost), 5, {"link": LinkHealth(age_s=3.01)}) is not None


def bad(share, answers):
    return {"link": LinkHealth(bad_fraction=share, answers=answers)}


def test_21_of_120_and_66_of_300_bad_answers_trip_one_less_does_not(make, let_watch):
    for most, answers in ((20, 120), (65, 300)):
        assert let_watch(make(LinkLost), 300, bad(most / answers, answers)) is None
        assert let_watch(make(LinkLost), 300, bad((most + 1) / answers, answers)).at_s == 0.0


def test_the_reason_says_how_many_of_how_many(make, let_watch):
    assert let_watch(make(LinkLost), 1, bad(0.30, 120)).reason == "30% of the last 120 replies are bad"


def test_a_handful_of_answers_is_no_share(make, let_watch):
    assert let_watch(make(LinkLost), 300, bad(1.0, 20)) is None


def test_three_in_ten_bad_pass_as_fewer_in_at_most_two_windows_of_a_thousand():
    """Against the binomial distribution of scipy; how much one in twenty bad trips is in RESULTS.md."""
    for answers in range(120, 901, 30):
        most = math.floor(most_bad(answers))
        assert binom.cdf(most, answers, 0.3) < 0.002
        assert binom.sf(most, answers, 0.05) < 2e-6


class Wire:
    """A line that loses answers as a seeded generator draws: so many exchanges in each tick."""

    def __init__(self, per_s, seed, seen, interlock):
        self.tick_s, self.each = (1.0, per_s) if per_s >= 1 else (1.0 / per_s, 1)
        self.dice, self.seen, self.interlock = random.Random(seed), seen, interlock
        self.sensor, self.heater = Health(), Health()

    def trips_at(self, seconds, lost_from, share):
        """Return the second of its trip."""
        at_s = 0.0
        while at_s < seconds:
            for number in range(self.each):
                lost = at_s >= lost_from and self.dice.random() < share
                (self.heater if number % 2 else self.sensor).note(not lost, at_s)
            failed, every = of_all((self.sensor, self.heater), at_s)
            if self.interlock.check(
                self.seen(at_s, link=LinkHealth(bad_fraction=failed / every, answers=every))
            ):
                return at_s
            at_s += self.tick_s
        return None


@pytest.mark.parametrize(("per_s", "within_s"), [(10, 30), (4, 30), (2, 60), (1, 120), (0.5, 240)])
def test_three_in_ten_bad_are_found_in_half_a_minute_or_in_120_answers(make, seen, per_s, within_s):
    """The hazard list's H31; fewer than 120 answers cannot tell them from one in twenty for six hours."""
    found = [Wire(per_s, seed, seen, make(LinkLost)).trips_at(1000, 130, 0.3) - 130 for seed in range(60)]
    assert sum(late > within_s for late in found) == 0


@pytest.mark.parametrize("per_s", [10, 4, 2, 1, 0.5])
def test_one_in_twenty_bad_goes_on_for_six_hours(make, seen, per_s):
    assert Wire(per_s, 1, seen, make(LinkLost)).trips_at(6 * 3600, 0, 0.05) is None


def test_one_bad_answer_of_the_first_two_is_no_share(make, let_watch):
    early = lambda s: bad(0.5 if s < 5 else 0.05, 2 + 4 * int(s))  # noqa: E731
    assert let_watch(make(LinkLost), 120, early) is None


def test_three_strange_frames_in_a_minute_trip(make, let_watch):
    talk = lambda s: {"link": LinkHealth(foreign=int(s // 10))}  # noqa: E731
    assert let_watch(make(ForeignTalk), 60, talk).at_s == 30.0


def test_a_strange_frame_now_and_then_does_not(make, let_watch):
    rare = lambda s: {"link": LinkHealth(foreign=7 + int(s // 50))}  # noqa: E731
    assert let_watch(make(ForeignTalk), 1000, rare) is None
