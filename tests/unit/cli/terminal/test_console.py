"""A person at the terminal: an empty answer where one is needed, q, and the end of input mean later."""

import pytest

from kilnctl.cli.terminal import console
from kilnctl.cli.terminal.console import Console
from kilnctl.commissioning.operator import Later


@pytest.mark.parametrize("typed", ["q", "", "  "])
def test_what_means_later(typed: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("builtins.input", lambda _: typed)
    with pytest.raises(Later):
        Console().ask("What is it? ")


def test_an_empty_answer_will_do_where_none_is_needed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("builtins.input", lambda _: " ")
    assert Console().ask("A note? ", needed=False) == ""


@pytest.mark.parametrize(("pressed", "answer"), [("xy", True), (" N", False)])
def test_a_key_needs_no_enter_and_others_are_passed_over(
    pressed: str, answer: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    keys = iter(pressed)
    monkeypatch.setattr(console, "one_key", lambda: next(keys))
    assert Console().key("Does it glow?") is answer


def test_the_end_of_input_at_a_key_means_later(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(console, "one_key", lambda: "")
    with pytest.raises(Later):
        Console().key("Does it glow?")
