"""The answers as a file: the example stands only where one is needed and not given yet."""

from kilnctl.cli.oven.oven_file.asking.answers_so_far import so_far


def test_what_was_answered_stands_and_what_may_miss_does_not() -> None:
    example = {
        "name": "x", "signal": {"process": {"register": 0}, "second": {"register": 1}},
        "output": {"heater": {"register": 0}}, "identity": [{"expect": 1}], "dead_man": {"write": 1},
    }  # fmt: skip
    file = so_far(
        example, {("name",): "mine", ("signal", "process"): {"register": 7}, ("arm",): {"write": 0}}
    )
    assert file == {
        "name": "mine", "signal": {"process": {"register": 7}}, "output": {"heater": {"register": 0}},
        "arm": [{"write": 0}],
    }  # fmt: skip
    assert example["signal"]["process"] == {"register": 0}
