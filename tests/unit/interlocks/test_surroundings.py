from kilnctl.interlocks.surroundings import ColdJunction, FanStopped, HotBox, LimitOpen, SignalLost, Smoke
from kilnctl.readings import Alarm, Quality, Reading, ResetClass


def test_smoke_trips_at_once_and_needs_a_repair(make, let_watch):
    trip = let_watch(make(Smoke), 0, {"smoke": True})
    assert trip.reset is ResetClass.C
    assert "leave" in trip.reason
    assert let_watch(make(Smoke), 60, {"smoke": False}) is None


def test_an_open_limit_trips_at_once(make, let_watch):
    assert let_watch(make(LimitOpen), 0, {"limit_open": True}).repeat_step == "limit test"
    assert let_watch(make(LimitOpen), 60, {"limit_open": False}) is None


def test_a_hot_relay_box_trips(make, let_watch):
    assert let_watch(make(HotBox), 0, {"enclosure": Reading.of(75.0, 0.0)}) is not None
    assert let_watch(make(HotBox), 60, {"enclosure": Reading.of(59.5, 0.0)}) is None


def test_terminals_hotter_than_a_room_can_be_stop(make, let_watch):
    assert let_watch(make(ColdJunction), 0, {"cold_junction": Reading.of(61.0, 0.0)}) is not None
    assert let_watch(make(ColdJunction), 0, {"cold_junction": Reading.of(-11.0, 0.0)}) is not None
    assert let_watch(make(ColdJunction), 60, {"cold_junction": Reading.of(45.0, 0.0)}) is None


def test_a_fan_that_stands_for_ten_seconds_under_heat_stops(make, let_watch):
    assert let_watch(make(FanStopped), 60, {"fan_on": False}).at_s == 9.0
    assert let_watch(make(FanStopped), 60, lambda s: {"fan_on": s % 10 == 0}) is None
    assert let_watch(make(FanStopped), 60, {"fan_on": False, "setpoint_c": None}) is None


def test_what_is_not_fitted_is_said(make, bare):
    assert all(
        make(kind, bare).distance().note for kind in (Smoke, LimitOpen, HotBox, ColdJunction, FanStopped)
    )


def test_without_a_detector_nothing_is_shown_as_clean_air(make, bare):
    signals = bare.signal.model_copy(update={"smoke": None, "limit_open": None})
    blind = bare.model_copy(update={"signal": signals})
    for kind, what in ((Smoke, "no detector"), (LimitOpen, "no contact of the limit")):
        distance = make(kind, blind).distance()
        assert (distance.value, distance.limit) == (None, None)
        assert distance.note.startswith(what)


SOUND = {
    **dict.fromkeys(("smoke", "limit_open", "door_open"), False),
    **dict.fromkeys(("heater_live", "fan_on"), True),
    **{name: Reading.of(30.0, 0.0) for name in ("enclosure", "cold_junction", "supply_v")},
}


def test_a_signal_that_is_fitted_and_lost_is_told_and_stops_what_is_left_alone(make, let_watch, stops):
    """A detector on a module of its own that died: nothing else missed it, and nothing watched any more."""
    for name in SOUND:
        lost = {**SOUND, name: None}
        told = let_watch(make(SignalLost), 600, lost)
        assert isinstance(told, Alarm), name
        trip = stops(make(SignalLost), {**lost, "unattended": True})
        assert trip.at_s <= 60.0, name
    broken = {**SOUND, "enclosure": Reading.bad(Quality.OPEN, "", 0.0)}
    assert "relay box" in let_watch(make(SignalLost), 600, broken).reason


def test_a_signal_that_is_there_again_or_not_fitted_is_not_lost(make, bare, let_watch):
    comes_back = lambda s: {**SOUND, "smoke": False if int(s) % 5 == 0 else None}  # noqa: E731
    assert let_watch(make(SignalLost), 600, comes_back) is None
    assert let_watch(make(SignalLost), 600, SOUND) is None
    silent = {"process": Reading.bad(Quality.NO_REPLY, "", 0.0)}  # the link's own matter
    assert let_watch(make(SignalLost), 600, silent) is None
    assert let_watch(make(SignalLost), 600, {"run_max_c": None}) is None  # a recording heats nothing
    nothing = {"heater_live": True, "door_open": False}
    assert let_watch(make(SignalLost, bare), 600, nothing) is None
