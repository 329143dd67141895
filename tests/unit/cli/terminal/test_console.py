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
def test_a_key_needs_no_enter_and_others_are_asked_again(
    pressed: str, answer: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    keys = iter(pressed)
    monkeypatch.setattr(console, "one_key", lambda: next(keys))
    assert Console().key("Does it glow?") is answer
    said = capsys.readouterr().out
    assert said.count("press y, n or q") == (1 if "x" in pressed else 0)


def at_a_terminal(monkeypatch: pytest.MonkeyPatch, typed: str, *, before: str = "") -> bool:
    """Return what a question makes of bytes at a real terminal; `before` comes before it is shown."""
    far, near = os.openpty()
    try:
        with os.fdopen(near, "r", closefd=False) as terminal:
            monkeypatch.setattr("sys.stdin", terminal)
            os.write(far, before.encode())
            bursts = iter(typed.split("|"))
            read = console.one_key

            def pressed() -> str:
                os.write(far, next(bursts).encode())
                return read()

            monkeypatch.setattr(console, "one_key", pressed)
            return Console().key("Read and understood?")
    finally:
        os.close(far)
        os.close(near)


@pytest.mark.parametrize(
    ("typed", "answer"),
    [("y\n", True), ("none\n|y", True), ("1130 C\n|n\n", False), ("\x1b[A|y", True), ("yes\n", True)],
)
def test_a_word_that_cannot_be_read_is_asked_again_and_its_letters_answer_nothing(
    typed: str, answer: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The n in a word that was typed at a key counted as a no."""
    assert at_a_terminal(monkeypatch, typed) is answer


def test_a_key_that_was_pressed_before_its_question_was_shown_does_not_answer_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """An n that was meant for another question stood at "Read and understood?"."""
    assert at_a_terminal(monkeypatch, "y", before="n\n")


def test_the_end_of_input_at_a_key_means_later(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(console, "one_key", lambda: "")
    with pytest.raises(Later):
        Console().key("Does it glow?")


@pytest.mark.parametrize("needed", [True, False])
def test_an_enter_that_belongs_to_the_key_before_answers_nothing(
    needed: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Everybody types y and Enter: the key needs none, and the walk ended at the next question."""
    typed, shown = iter(["", "275 C"]), list[str]()

    def answer(question: str) -> str:
        shown.append(question)
        return next(typed)

    monkeypatch.setattr(console, "one_key", lambda: "y")
    monkeypatch.setattr("builtins.input", answer)
    person = Console()
    assert person.key("Two switches?")
    assert person.ask("Set value? ", needed) == "275 C"
    assert "".join(shown).count("Set value?") == 1  # it stood there twice


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
