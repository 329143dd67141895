"""A person at the terminal: an empty answer where one is needed, q, and the end of input mean later."""

import os
import select

import pytest

from kilnctl.cli.terminal import console
from kilnctl.cli.terminal.console import Console
from kilnctl.clock import VirtualClock
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


@pytest.mark.parametrize("needed", [True, False])
def test_an_enter_that_belongs_to_the_key_before_answers_nothing(
    needed: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Everybody types y and Enter: the key needs none, and the walk ended at the next question."""
    typed = iter(["", "275 C"])
    monkeypatch.setattr(console, "one_key", lambda: "y")
    monkeypatch.setattr("builtins.input", lambda _: next(typed))
    person = Console()
    assert person.key("Two switches?")
    assert person.ask("Set value? ", needed) == "275 C"


def test_an_empty_answer_that_was_thought_about_means_later_after_a_key_too(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    clock = VirtualClock()

    def slowly(_: str) -> str:
        clock.advance(2.0)
        return ""

    monkeypatch.setattr(console, "one_key", lambda: "y")
    monkeypatch.setattr("builtins.input", slowly)
    person = Console(clock)
    person.key("Two switches?")
    with pytest.raises(Later):
        person.ask("Set value? ")


def test_what_was_typed_before_a_question_was_shown_does_not_answer_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The Enter after a y, twenty seconds before the lamp's numbers are asked for, refused the heat."""
    far, near = os.openpty()
    try:
        with os.fdopen(near, "r+b", buffering=0, closefd=False) as terminal:
            monkeypatch.setattr("sys.stdin", terminal)
            monkeypatch.setattr("builtins.input", lambda _: typed_now())
            os.write(far, b"\n")
            select.select([near], [], [], 5.0)

            def typed_now() -> str:
                os.write(far, b"2 1 4\n")
                return os.read(near, 20).decode()

            assert console.asked_anew("which? ") == "2 1 4\n"
    finally:
        os.close(far)
        os.close(near)
