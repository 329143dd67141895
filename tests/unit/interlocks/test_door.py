from kilnctl.interlocks.door import DoorOpen
from kilnctl.readings import Alarm, Reaction


def test_an_open_door_is_told_after_half_a_minute_and_stops_after_two(make, let_watch, seen):
    interlock = make(DoorOpen)
    first = let_watch(interlock, 60, {"door_open": True})
    assert isinstance(first, Alarm)
    assert first.at_s == 29.0
    last = [interlock.check(seen(float(s), door_open=True)) for s in range(30, 120)][-1]
    assert last.reaction is Reaction.STOP


def test_a_door_without_a_switch_is_said_to_be_unwatched(make, oven):
    unseen = oven.model_copy(update={"signal": oven.signal.model_copy(update={"door_open": None})})
    assert make(DoorOpen, unseen).distance().note == "no door switch"
    assert make(DoorOpen).distance().note == ""


def test_an_announced_opening_of_29_s_is_a_near_miss(make, let_watch):
    assert let_watch(make(DoorOpen), 600, lambda s: {"door_open": s % 60 < 29}) is None


def test_a_door_that_a_person_was_sent_to_may_stay_open(make, let_watch):
    assert let_watch(make(DoorOpen), 900, {"door_open": True, "segment_kind": "operator"}) is None
    assert let_watch(make(DoorOpen), 900, {"door_open": True, "setpoint_c": None}) is None


def test_a_door_whose_switch_bounces_stops_too(make, let_watch, stops):
    """Ajar and shaking: shut in one look of ten, and heated then, until it is shut for good."""
    bounces = stops(make(DoorOpen), lambda s: {"door_open": int(s) % 10 != 0})
    assert bounces.at_s <= 180.0
    assert let_watch(make(DoorOpen), 600, lambda s: {"door_open": int(s) % 100 < 25}) is None
