"""A contact, as it is written and as it is turned round."""

from kilnctl.config.places import Switch
from kilnctl.devices.contact import bits_of, switch
from kilnctl.errors import NoReply


def test_switch_may_be_inverted_and_unknown():
    door = Switch.model_validate({"device": "b", "table": "discrete", "register": 0, "inverted": True})
    assert [switch(door, raw) for raw in (0, 1, NoReply("x"))] == [True, False, None]


def test_a_number_that_is_neither_a_yes_nor_a_no_proves_nothing() -> None:
    """A contact that read 255 was "no", so that an off was believed, and a smoke detector well."""
    contact = Switch.model_validate({"device": "b", "table": "input", "register": 0, "yes": (1,)})
    assert [switch(contact, raw) for raw in (0, 1, 3, 255, -1)] == [False, True, None, None, None]
    door = contact.model_copy(update={"yes": (2, 3), "no": (1,)})
    assert [switch(door, raw) for raw in (0, 1, 2, 3)] == [None, False, True, True]


def test_one_bit_and_some_bits_of_a_number() -> None:
    place = Switch.model_validate({"device": "b", "table": "input", "register": 0})
    whole = 0b1010_0110
    assert bits_of(place.model_copy(update={"bit": 2}), whole) == 1
    assert bits_of(place.model_copy(update={"mask": 0xF0}), whole) == 0b1010
    assert bits_of(place, whole) == whole
