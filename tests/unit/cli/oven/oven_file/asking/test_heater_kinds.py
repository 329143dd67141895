"""A key that only one kind of heater has brings the kind; a kind drops what it cannot have."""

from kilnctl.cli.oven.oven_file.asking.heater_kinds import brings, turn_into


def test_a_key_brings_its_kind_where_the_kind_that_was_answered_has_no_such_key() -> None:
    assert brings("holds", {}) == "pulse"
    assert brings("holds", {"kind": "duty"}) == ""
    assert brings("park", {"table": "holding"}) == "set-point"
    assert brings("back", {}) == brings("on", {}) == ""


def test_a_heater_of_another_kind_has_none_of_the_keys_of_the_first() -> None:
    made = {"kind": "pulse", "holds": "5 s", "on": 20, "register": 3}
    turn_into(made, "set-point")
    assert made == {"kind": "set-point", "holds": "5 s", "register": 3}
    turn_into(made, "switch")
    assert made == {"kind": "switch", "register": 3}
