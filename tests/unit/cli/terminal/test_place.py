"""Who typed: a name and a place, no device path."""

import os

import pytest

from kilnctl.cli.terminal import place


@pytest.mark.parametrize(
    ("tty", "ssh", "said"),
    [
        ("/dev/pts/3", "", "anna at terminal 3"),
        ("/dev/pts/3", "10.0.0.7 50022 10.0.0.2 22", "anna at terminal 3 from 10.0.0.7"),
        ("/dev/tty1", "", "anna at console 1"),
    ],
)
def test_a_person_is_named_by_user_and_place(
    monkeypatch: pytest.MonkeyPatch, tty: str, ssh: str, said: str
) -> None:
    monkeypatch.setattr(os, "ttyname", lambda _: tty)
    monkeypatch.setenv("LOGNAME", "anna")
    monkeypatch.setenv("SSH_CONNECTION", ssh)
    assert place.who() == said


def test_without_terminal_and_name_it_still_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    def none(_: int) -> str:
        raise OSError(25, "not a terminal")

    monkeypatch.setattr(os, "ttyname", none)
    for name in ("LOGNAME", "USER", "SSH_CONNECTION"):
        monkeypatch.delenv(name, raising=False)
    assert place.who() == f"user {os.getuid()} at no terminal (process {os.getpid()})"
