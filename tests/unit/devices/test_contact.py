"""A contact, as it is written and as it is turned round."""

from kilnctl.config.places import Switch
from kilnctl.devices.contact import switch
from kilnctl.errors import NoReply


def test_switch_may_be_inverted_and_unknown():
    door = Switch.model_validate({"device": "b", "table": "discrete", "register": 0, "inverted": True})
    assert [switch(door, raw) for raw in (0, 1, NoReply("x"))] == [True, False, None]
