from kilnctl.interlocks.crossed_ovens import CrossedOvens


def test_an_idle_oven_that_warms_up_trips_within_two_minutes(make, let_watch):
    trip = let_watch(make(CrossedOvens), 300, {"others": {"tempering-oven": (8.0, 0.0)}})
    assert trip.at_s <= 120.0
    assert "tempering-oven" in trip.reason


def test_an_oven_that_is_heated_may_warm_up(make, let_watch):
    assert let_watch(make(CrossedOvens), 600, {"others": {"tempering-oven": (18.0, 0.8)}}) is None


def test_an_idle_neighbour_in_a_warm_shop_is_a_near_miss(make, let_watch):
    assert let_watch(make(CrossedOvens), 600, {"others": {"tempering-oven": (2.5, 0.0)}}) is None
    idle_here = {"others": {"tempering-oven": (8.0, 0.0)}, "duty_asked": 0.0}
    assert let_watch(make(CrossedOvens), 600, idle_here) is None


def test_a_rise_that_pauses_is_counted_anew(make, let_watch):
    def pausing(s):
        return {"others": {"left": (8.0 if s % 30 else 0.0, 0.0)}}

    assert let_watch(make(CrossedOvens), 600, pausing) is None
    interlock = make(CrossedOvens)
    assert let_watch(interlock, 60, {"others": {"left": (0.0, 0.0)}}) is None
    # of the 30 s that it must last, 29.6 are not enough
    assert let_watch(interlock, 0, {"others": {"left": (8.0, 0.0)}, "dt_s": 29.6}, 61.0) is None
    assert let_watch(interlock, 0, {"others": {"left": (8.0, 0.0)}, "dt_s": 0.4}, 62.0) is not None
