"""What one register of a device is written with is asked of its others.

A second thing to arm on an invented instrument was written without format and function, and refused.
"""

from kilnctl.cli.oven.oven_file.asking.earlier_writes import EarlierWrites

FIRST = {
    "device": "x",
    "table": "holding",
    "register": 10,
    "format": "float32",
    "multiple": True,
    "word_order": "low first",
}


def test_one_more_register_is_offered_what_the_first_was_written_with() -> None:
    earlier = EarlierWrites()
    made = {"device": "x", "table": "holding", "register": 8}
    assert earlier.offered(("arm",), made) == {}
    earlier.note(("output", "heater"), FIRST)
    assert earlier.offered(("arm",), made) == {"format": "uint16", "multiple": True}
    assert earlier.orders({**made, "format": "float32"}) == {"word_order": "low first"}
    assert earlier.orders({**made, "format": "uint16"}) == {}
    assert earlier.offered(("arm",), {**made, "device": "y"}) == {}
    assert earlier.offered(("output", "lamp"), {**made, "table": "coil"}) == {"multiple": True}
    assert earlier.offered(("signal", "process"), made) == {}
