"""The client of the link over a real Unix socket: what it says when nobody answers, and what it loads."""

import socket
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from link_ends import Served, accept, snapshot

from kilnctl.clock import VirtualClock
from kilnctl.errors import LinkError, NoController
from kilnctl.link.client import LinkClient, connect
from kilnctl.link.snapshot import Answer, Command


def test_who_comes_late_sees_the_newest_of_every_oven(serve: Served, path: Path) -> None:
    server = serve()
    with LinkClient(path) as early:
        for n in range(50):
            server.publish(snapshot(n))
        server.publish(snapshot(1, "tempering-oven"))
        for seen in early.snapshots(timeout_s=60):
            if seen.oven == "tempering-oven":
                break
        with LinkClient(path) as late:
            ovens = late.newest_of_all()
            assert {oven: shot.sequence for oven, shot in ovens.items()} == {
                "furnace": 49,
                "tempering-oven": 1,
            }
            assert late.newest("furnace") == ovens["furnace"]


def test_without_an_oven_there_is_nothing_to_look_at_and_no_waiting(serve: Served, path: Path) -> None:
    serve()
    with LinkClient(path) as client:
        assert client.newest(timeout_s=30) is None
        assert client.newest_of_all(timeout_s=30) == {}


def test_the_age_of_a_picture_counts_from_the_tick_and_through_a_suspend(serve: Served, path: Path) -> None:
    clock = VirtualClock()
    server = serve(clock=clock)
    server.publish(snapshot(1))
    clock.advance(4.0)
    clock.suspended_s = 2400.0
    with LinkClient(path, clock) as client:
        shot = client.newest()
        assert shot is not None
        assert client.age_s(shot) == pytest.approx(2404.0)


def test_no_controller_says_how_to_start_one(path: Path) -> None:
    with pytest.raises(NoController, match="no controller is running; start one with `kilnctl run"):
        LinkClient(path)


def test_a_command_that_is_not_answered_is_an_error_in_time(serve: Served, path: Path) -> None:
    go = threading.Event()

    def stuck(command: Command) -> Answer:
        go.wait(60)
        return accept(command)

    serve(stuck)
    with LinkClient(path) as client:
        with pytest.raises(LinkError, match='did not answer "off"'):
            client.ask(Command("off"), timeout_s=0.05)
        go.set()
        assert client.ask(Command("view")) == Answer(True, "view", {"oven": None})


@pytest.mark.slow
def test_the_client_loads_nothing_heavy() -> None:
    code = "import sys, kilnctl.link.client; print(*sys.modules)"
    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout.split()
    assert not {"pydantic", "textual", "numpy", "asyncio", "sqlite3", "rich"} & set(loaded)


def test_a_path_too_long_for_a_socket_is_told_with_its_cure(tmp_path: Path) -> None:
    """107 bytes at most: unix(7), the size of sun_path."""
    with pytest.raises(LinkError, match="set KILNCTL_HOME to a shorter folder"):
        connect(tmp_path / ("x" * 120) / "controller.socket")


def test_a_folder_of_another_user_is_told_by_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As `sudo kilnctl` once leaves it behind; the refusal is the kernel's, given here in its place."""

    class Closed(socket.socket):
        def connect(self, address: object) -> None:
            raise PermissionError(13, "Permission denied")

    (tmp_path / "controller.socket").touch()
    monkeypatch.setattr(socket, "socket", Closed)
    with pytest.raises(LinkError, match=rf"{tmp_path}: is the kilnctl folder of user \w+; set KILNCTL_HOME"):
        connect(tmp_path / "controller.socket")
