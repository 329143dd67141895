import random

from kilnctl.interlocks.chatter import Chatter


def test_a_relay_that_chatters_five_times_a_second_trips_within_ten(make, let_watch):
    times = []
    for seed in range(30):
        draw = random.Random(seed)
        chattering = lambda s, draw=draw: {"heater_live": draw.random() < 0.5}  # noqa: E731
        times.append(let_watch(make(Chatter), 60, chattering).at_s)
    assert sorted(times)[len(times) // 2] <= 10.0  # a look a second sees half of it
    assert max(times) <= 30.0


def test_chatter_in_the_short_pulses_of_a_soak_trips(make, let_watch):
    """On for two seconds in fifteen: what counts are the seconds of heat."""
    for seed in range(30):
        draw = random.Random(seed)

        def soak(s, draw=draw):
            return {"heat_asked": s % 15 < 2, "heater_live": s % 15 < 2 and draw.random() < 0.5}

        trip = let_watch(make(Chatter), 3600, soak)
        assert trip.kind == "chatter"
        assert trip.at_s * 2 / 15 <= 60.0


def test_one_change_is_a_dead_or_welded_relay_and_not_chatter(make, let_watch):
    dying = lambda s: {"heat_asked": s % 15 < 2, "heater_live": s % 15 < 2 and s < 600}  # noqa: E731
    assert let_watch(make(Chatter), 3600, dying) is None
    welding = lambda s: {"heat_asked": s % 15 < 2, "heater_live": s % 15 < 2 or s > 600}  # noqa: E731
    assert let_watch(make(Chatter), 3600, welding) is None


def test_a_relay_that_follows_its_commands_does_not(make, let_watch):
    # on for 4 of 10 s, the contact a tick late
    obeying = lambda s: {"heat_asked": s % 10 < 4, "heater_live": (s - 1) % 10 < 4}  # noqa: E731
    assert let_watch(make(Chatter), 3600, obeying) is None


def test_a_change_every_quarter_minute_is_a_near_miss(make, let_watch):
    now_and_then = lambda s: {"heater_live": s // 15 % 2 == 0}  # noqa: E731
    assert let_watch(make(Chatter), 3600, now_and_then) is None


def test_without_a_contact_it_says_so(make, bare):
    signals = bare.signal.model_copy(update={"heater_live": None})
    assert make(Chatter, bare.model_copy(update={"signal": signals})).distance().note


def test_an_oven_that_does_not_show_its_element_is_not_judged(make, let_watch):
    assert let_watch(make(Chatter), 600, {"heater_live": None, "current_a": None}) is None
