"""The questions of `oven new` that are no keys of the file."""

from kilnctl.cli.oven.oven_file.asking.questions import MORE


def test_whoever_is_asked_for_one_more_is_told_that_enter_is_no_more() -> None:
    assert set(MORE) == {"port", "device", "signal", "output"}
    assert all("Enter" in question and question.endswith(":") for question in MORE.values())
