"""Answers that took half an hour are not lost at the end: on a full disk, in a folder that is none."""

import contextlib
import resource
from collections.abc import Iterator
from pathlib import Path

import pytest

from kilnctl.cli.terminal.by_asking import Ask, Say, save, save_answers, stoppable, with_a_way_back
from kilnctl.errors import ConfigError


@contextlib.contextmanager
def full_disk() -> Iterator[None]:
    """No file may grow: what the system says is another word for the same."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


def test_on_a_full_disk_the_answers_are_printed_and_no_half_file_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said: list[str] = []
    monkeypatch.setattr("builtins.print", said.append)  # what catches the output here is a file too
    with pytest.raises(ConfigError, match=r"cannot be written: .*printed above"), full_disk():
        save_answers("a = 1\n", tmp_path / "ovens" / "mine.toml")
    assert said == ["a = 1\n"]
    assert list((tmp_path / "ovens").iterdir()) == []


def test_a_file_that_is_there_stays_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    save("a = 1\n", path)
    with pytest.raises(ConfigError, match="exists already"):
        save("b = 2\n", path)
    assert path.read_text() == "a = 1\n"
    with pytest.raises(ConfigError, match="Not a directory"):
        save("a = 1\n", path / "sub" / "mine.toml")


def test_q_stops_and_what_no_file_can_hold_is_asked_again(capsys: pytest.CaptureFixture[str]) -> None:
    typed = iter(["\x1b[2J", "x" * 1001, "\udcff", "plain", " Q "])
    ask = stoppable(lambda question: next(typed))
    assert ask("part? ") == "plain"
    assert capsys.readouterr().out.count("printable characters") == 3
    with pytest.raises(EOFError):
        ask("steel? ")


def test_what_was_answered_after_the_place_gone_back_to_is_kept_by_enter() -> None:
    """A maker had typed F, went back three questions, and Enter took the page's C on the way forward."""
    typed = iter(["1", "F", "9", "<", "<", "", "", "8"])
    asked: list[str] = []

    def ask(question: str) -> str:
        asked.append(question)
        return next(typed)

    def make(ask: Ask, _say: Say) -> list[str]:
        return [ask(question) or "page" for question in ("first: ", "unit: ", "third: ", "fourth: ")]

    assert with_a_way_back(ask, print, make) == ["1", "F", "9", "8"]
    assert "unit: (before: F) " in asked


def test_one_step_back_is_the_question_before_however_often_this_one_was_answered_wrongly() -> None:
    """Enter twice at a y/n question, then <: it led from one wrong answer to the one before it."""
    typed = iter(["lamp", "", "18", "<", "horn", "y"])
    asked: list[str] = []

    def ask(question: str) -> str:
        asked.append(question)
        return next(typed)

    def make(ask: Ask, _say: Say) -> tuple[str, bool]:
        name = ask("output: ")
        while (yes := ask("identity? [y/n] ")) not in ("y", "n"):
            pass
        return name, yes == "y"

    assert with_a_way_back(ask, print, make) == ("horn", True)
    assert asked[-2].startswith("output: ")
    assert asked[-1].startswith("identity? [y/n] ")


def test_a_refused_answer_is_not_offered_again() -> None:
    """`arm.format (before: 1)` was offered on the way back, and Enter took what had been refused."""
    typed = iter(["panel", "1", "uint16", "<", "<", "", "", "7"])
    asked: list[str] = []

    def ask(question: str) -> str:
        asked.append(question)
        return next(typed)

    def make(ask: Ask, _say: Say) -> list[str]:
        made = [ask("device: ")]
        while (kind := ask("format: ")) == "1":
            pass
        return [*made, kind, ask("register: ")]

    assert with_a_way_back(ask, print, make) == ["panel", "uint16", "7"]
    assert "format: (before: 1) " not in asked
