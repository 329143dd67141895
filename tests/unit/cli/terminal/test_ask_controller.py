"""What is asked of a running controller crosses the socket, and its refusal comes back."""

from pathlib import Path

import pytest
from link_ends import Host

from kilnctl.cli.main import run


@pytest.mark.parametrize(
    ("words", "word", "args"),
    [
        (["answer", "done"], "answer", {"reply": "done"}),
        (["answer", "wait", "--oven", "left"], "answer", {"reply": "wait"}),
        (["adjust", "longer", "30min"], "adjust", {"what": "longer", "by_s": 1800.0}),
        (["adjust", "lower", "410F"], "adjust", {"what": "lower", "to_c": 210.0}),
        (["adjust", "next"], "adjust", {"what": "next"}),
        (["acknowledge"], "acknowledge", {}),
    ],
)
def test_words_become_commands(words: list[str], word: str, args: dict[str, object], host: Host) -> None:
    assert run(words) == 0
    (took,) = host.took
    assert took.word == word
    assert took.args == pytest.approx(args)
    assert took.who
    assert took.oven == ("left" if "left" in words else None)


def test_a_refusal_is_the_controllers_own_line_and_code_3(
    host: Host, capsys: pytest.CaptureFixture[str]
) -> None:
    host.refuses = "only a soak can be made longer"
    assert run(["adjust", "longer", "30min"]) == 3
    assert capsys.readouterr().err == "kilnctl: only a soak can be made longer\n"


@pytest.mark.parametrize(
    "words",
    [["adjust", "longer"], ["adjust", "next", "1h"], ["adjust", "longer", "30"], ["adjust", "lower", "200"]],
)
def test_a_bare_number_or_a_missing_one_is_bad_input(words: list[str], host: Host) -> None:
    assert run(words) == 2
    assert host.took == []


@pytest.mark.parametrize("words", [["answer", "done"], ["adjust", "next"], ["acknowledge"]])
def test_nobody_to_talk_to_is_code_3(
    words: list[str], own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(words) == 3
    assert "no controller is running" in capsys.readouterr().err
