"""A doubtful first reading is asked on a terminal, refused elsewhere; n and the end of input are a no."""

import signal
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from kilnctl.cli.heat import follow_job, hand_over
from kilnctl.cli.terminal import console
from kilnctl.config import home
from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError, Doubtful, ProfileError, RunRefused
from kilnctl.link.client import LinkClient
from kilnctl.link.server import LinkServer
from kilnctl.link.snapshot import Answer, Command
from kilnctl.link.start import StartJob, start_of
from kilnctl.marks import off_stamp
from kilnctl.profile.segments import Profile
from kilnctl.tomlfile import loads

HOLD = 'name = "hold"\n[[segment]]\nkind = "soak"\nat = "60 C"\ntime = "1 h"\n'
START = StartJob("text", loads(HOLD, Profile, ProfileError, "hold"), {})
SAY = "the sensor and the room differ by 6 K; is that right?"


class Host:
    """A controller that doubts until it is confirmed."""

    def __init__(self) -> None:
        self.took: list[Command] = []

    def handle(self, command: Command) -> Answer:
        self.took.append(command)
        if "the room" not in command.args.get("confirmed", ()):
            doubt = Doubtful(SAY, {"the room": SAY})
            return Answer(False, str(doubt), {"doubts": doubt.doubts})
        return Answer(True, data={"run": 7})


@pytest.fixture
def link(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Host, LinkClient]]:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    host = Host()
    server = LinkServer(home.socket_path(), host.handle)
    with LinkClient(home.socket_path()) as client:
        yield host, client
    server.close()


def begun(client: LinkClient, monkeypatch: pytest.MonkeyPatch, key: str, terminal: bool = True) -> Any:
    monkeypatch.setattr("sys.stdin.isatty", lambda: terminal, raising=False)
    keys = iter(key or [""])
    monkeypatch.setattr(console, "one_key", lambda: next(keys))
    return hand_over.begin(client, "left", START, 5.0)


def test_yes_is_handed_over(link: Any, monkeypatch: pytest.MonkeyPatch, capsys: Any) -> None:
    host, client = link
    assert begun(client, monkeypatch, "y").data["run"] == 7
    assert SAY in capsys.readouterr().out
    assert start_of(host.took[-1].args) == replace(START, confirmed=("the room",))


@pytest.mark.parametrize("key", ["n", "\nn", "", "xn"])
def test_a_no_refuses(link: Any, monkeypatch: pytest.MonkeyPatch, key: str) -> None:
    host, client = link
    with pytest.raises(RunRefused, match="Nothing was heated"):
        begun(client, monkeypatch, key)
    assert len(host.took) == 1


def test_nobody_to_ask_refuses(link: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    host, client = link
    with pytest.raises(RunRefused, match="There is no terminal here"):
        begun(client, monkeypatch, "y", terminal=False)
    assert len(host.took) == 1


class Slow:
    """A controller that has a start, and whose answer is still on its way when a person presses Ctrl-C."""

    def handle(self, command: Command) -> Answer:
        if command.word == "run" and "asked" not in command.args:
            signal.raise_signal(signal.SIGINT)
        return Answer(True, data={"run": 7, "lines": []})


@pytest.mark.parametrize("name", ["tempering-oven", "of-a-file-elsewhere"])
def test_ctrl_c_between_the_start_and_its_answer_leaves_an_off(
    name: str, own_home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A command said "stopped", and its heat began a second later (history 54312)."""
    text = (bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
    text = text.replace('name = "tempering-oven"', f'name = "{name}"')
    oven = loads(text, Oven, ConfigError, "oven.toml")
    before = off_stamp.stamps_now(own_home)
    monkeypatch.setattr(follow_job, "ensure_controller", lambda: None)
    monkeypatch.setattr(follow_job, "consented", lambda _client, _oven, start, *_: start)
    server = LinkServer(home.socket_path(), Slow().handle)
    try:
        with pytest.raises(KeyboardInterrupt):
            follow_job.hand_over(replace(START, oven=text), oven, print, False)
    finally:
        server.close()
    assert off_stamp.off_since(before, own_home, oven.name, off_stamp.outlets(text)) is not None
    assert name in capsys.readouterr().out
