"""What the commands share that write a file by asking: q stops, < goes back, no answer is lost at the end."""

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from kilnctl.errors import ConfigError, one_line
from kilnctl.tomlfile import LONGEST_TEXT

Ask = Callable[[str], str]
Say = Callable[[str], object]
Made = TypeVar("Made")
STOP, BACK = "q", "<"


class _Back(Exception):
    """The question before the one that is named is to be answered again."""


def with_a_way_back(ask: Ask, say: Say, make: Callable[[Ask, Say], Made]) -> Made:
    """Return what is made of answers; < asks the question before again, not this one's last wrong answer.

    All is asked again then, with the answers before that one given silently: `make` must ask the same
    questions for the same answers. What was answered after it is offered again: Enter keeps it.
    """
    kept: list[tuple[str, str]] = []
    before: list[tuple[str, str]] = []
    while True:
        told = [answer for _, answer in kept]

        def asked(question: str, told: list[str] = told) -> str:
            if told:
                return told.pop(0)
            typed = _asked_again(question, ask, before)
            if typed.strip() == BACK:
                raise _Back(question)
            kept.append((question, typed))
            return typed

        def tell_new(text: str, told: list[str] = told) -> None:
            if not told:
                say(text)

        try:
            return make(asked, tell_new)
        except _Back as back:
            last = len(kept)
            while last and kept[last - 1][0] == back.args[0]:
                last -= 1
            before[:] = _last_of_each([*kept[max(0, last - 1) :], *before])
            del kept[max(0, last - 1) :]


def _last_of_each(answered: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """Leave out what was asked again at once: such an answer was refused, and is not offered."""
    after = [*(question for question, _ in answered[1:]), ""]
    return [one for one, then in zip(answered, after, strict=True) if one[0] != then]


def _asked_again(question: str, ask: Ask, before: list[tuple[str, str]]) -> str:
    """Ask, and offer what was answered to this question before somebody went back; it is offered once."""
    at = next((i for i, (asked, _) in enumerate(before) if asked == question), None)
    answer = "" if at is None else before[at][1].strip()
    if at is None or not answer:
        return ask(question)
    typed = ask(f"{question}(before: {answer}) ")
    if typed.strip() != BACK:
        del before[at]
    return typed or answer


def stoppable(ask: Ask) -> Ask:
    """Return what asks and, where the answer is q, raises EOFError as an end of all answers does.

    What no file can hold is asked again.
    """

    def asked(question: str) -> str:
        while True:
            typed = ask(question)
            if typed.strip().lower() == STOP:
                raise EOFError
            if typed == one_line(typed) and len(typed) <= LONGEST_TEXT:
                return typed
            print(f"write at most {LONGEST_TEXT} printable characters")

    return asked


def save(text: str, path: Path) -> None:
    """Write a new file, whole or not at all. Raises ConfigError where that cannot be."""
    try:
        path.parent.mkdir(mode=0o700, exist_ok=True)
        with path.open("x", encoding="utf-8") as file:
            try:
                file.write(text)
                file.flush()
            except OSError:
                path.unlink(missing_ok=True)
                raise
    except FileExistsError:
        raise ConfigError(f"{path}: this file exists already; choose another name") from None
    except OSError as e:
        raise ConfigError(f"{path}: cannot be written: {e.strerror}") from None


def save_answers(text: str, path: Path) -> None:
    """Write answers as a new file; where that cannot be they are printed. Raises ConfigError then."""
    try:
        save(text, path)
    except ConfigError as e:
        print(text)
        raise ConfigError(f"{e}; your answers are printed above: keep them with --out FILE") from None
