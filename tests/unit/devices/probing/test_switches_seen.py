"""Which switches a person is asked about, in words, with the key that turns each round."""

from kilnctl.config.wiring import Signals
from kilnctl.devices.probing.switches_seen import switches_seen
from kilnctl.errors import NoReply

AT = {"device": "d", "table": "discrete"}


def test_a_switch_is_told_as_it_is_and_one_that_is_not_heard_is_left_out() -> None:
    process = {**AT, "table": "input", "register": 0, "unit": "C", "low": "-20 C", "high": "900 C"}
    door, limit = {**AT, "register": 1, "inverted": True}, {**AT, "register": 2}
    signals = Signals.model_validate({"process": process, "door_open": door, "limit_open": limit})
    seen = switches_seen(signals, lambda place: 1.0 if place.register_no == 1 else NoReply("d"))
    assert seen == [("signal.door_open", "the door is shut", "inverted = false")]
