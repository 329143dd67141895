"""No key of the oven file is out of reach of the questions."""

import pytest

from kilnctl.cli.oven.oven_file.more_keys import (
    ELSEWHERE,
    LIKE,
    PLACES,
    goes_with,
    like,
    model_of,
    more_keys,
)  # fmt: skip

PATHS = (
    ("port", "usb"), ("device", "board"), ("signal", "process"), ("signal", "second"),
    ("signal", "door_open"),
    ("signal", "current_a"), ("output", "heater"), ("output", "lamp"), ("dead_man",), ("arm",), ("identity",),
    ("signal", "process", "fault"), ("signal", "process", "exponent"), ("output", "heater", "back"),
)  # fmt: skip


@pytest.mark.parametrize("path", PATHS, ids=" ".join)
def test_every_key_of_a_modbus_table_is_offered_or_asked(path: tuple[str, ...]) -> None:
    """Seen to fail with `multiple` among those of ELSEWHERE."""
    offered = more_keys(path, "modbus")
    every = {field.alias or name for name, field in model_of(path, "modbus").model_fields.items()}
    written = path[0] in ("output", "dead_man", "arm") and path[-1] != "back"  # which is read
    idle = {"mask", "scale", "offset"} if written else set()
    assert every - ELSEWHERE - idle <= set(offered)
    assert ELSEWHERE.isdisjoint(offered)
    for key in offered:
        assert key in LIKE or key in PLACES
        assert like(path, key, {"device": "board"}) is not None


def test_a_board_of_lines_is_offered_nothing_of_registers() -> None:
    assert {"format", "multiple", "bit"}.isdisjoint(more_keys(("output", "heater"), "text"))
    assert {"bit", "mask"} <= set(more_keys(("output", "heater", "back"), "text"))  # of a status word
    assert {"unasked", "decimal", "answer_end"} <= set(more_keys(("device", "board"), "text"))
    assert "data_bits" in more_keys(("port", "usb"), "text")
    assert "baud" not in more_keys(("port", "lan"), "modbus", network=True)


@pytest.mark.parametrize(
    ("made", "offered", "not_offered"),
    [
        ({"kind": "duty", "on": 100}, {"step", "holds", "back"}, {"park", "reads_on", "bit"}),
        ({"kind": "set-point", "park": "0 C"}, {"step", "scale", "back", "holds"}, {"on", "reads_on"}),
        ({"on": 256}, {"reads_on", "bit", "multiple"}, {"park", "step", "holds"}),
        ({"kind": "duty", "format": "float32"}, {"word_order"}, {"mask"}),
    ],
)
def test_a_heater_is_offered_what_its_kind_can_have(made, offered, not_offered) -> None:
    assert all(goes_with(key, made) for key in offered)
    assert not any(goes_with(key, made) for key in not_offered)


def test_no_couple_is_offered_for_the_terminals_of_one() -> None:
    assert "couple" not in more_keys(("signal", "cold_junction"), "modbus")
    assert "couple" in more_keys(("signal", "load"), "modbus")
