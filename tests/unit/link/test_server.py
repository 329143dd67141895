"""Server and client over a real Unix socket: newest wins, nobody delays the publisher, stale files go."""

import contextlib
import dataclasses
import json
import socket
import stat
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from link_ends import Served, accept, snapshot

from kilnctl.errors import LinkError, NoController, RunRefused
from kilnctl.link.client import LinkClient
from kilnctl.link.server import MOST_CLIENTS, LinkServer
from kilnctl.link.snapshot import Answer, Command, Snapshot


def test_a_command_is_answered(serve: Served, path: Path) -> None:
    serve()
    with LinkClient(path) as client:
        assert client.ask(Command("off", "furnace")) == Answer(True, "off", {"oven": "furnace"})


def test_refusals_and_bugs_are_answered_and_the_next_command_works(serve: Served, path: Path) -> None:
    def handle(command: Command) -> Answer:
        if command.word == "run":
            raise RunRefused("the limit is 90 days old")
        if command.word == "adjust":
            raise ZeroDivisionError("oops")
        return accept(command)

    serve(handle)
    with LinkClient(path) as client:
        assert client.ask(Command("run")) == Answer(False, "the limit is 90 days old")
        assert not client.ask(Command("adjust")).accepted
        assert client.ask(Command("off")).accepted


def test_a_client_that_never_reads_gets_the_newest_and_delays_nobody(serve: Served, path: Path) -> None:
    server = serve()
    with LinkClient(path) as sleeper, LinkClient(path) as reader:
        assert sleeper.ask(Command("view")).accepted
        padding = "x" * 100_000
        for n in range(60):
            server.publish(snapshot(n, note=padding))
            assert next(reader.snapshots(timeout_s=60)).sequence <= n
        server.publish(snapshot(60, note=padding))
        last = [shot.sequence for shot in _until(sleeper, 60)]
        assert last[-1] == 60
        assert len(last) < 20, "a sleeper was kept up to date line by line"


def _until(client: LinkClient, sequence: int) -> Iterator[Snapshot]:
    for shot in client.snapshots(timeout_s=60):
        yield shot
        if shot.sequence == sequence:
            return


def test_the_socket_is_for_its_owner_alone(serve: Served, path: Path) -> None:
    serve()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_second_controller_is_refused(serve: Served, path: Path) -> None:
    serve()
    with pytest.raises(LinkError, match="already running"):
        LinkServer(path, accept)
    with LinkClient(path) as client:
        assert client.ask(Command("off")).accepted


def test_the_file_of_a_killed_controller_is_swept_away(path: Path, serve: Served) -> None:
    dead = socket.socket(socket.AF_UNIX)
    dead.bind(str(path))
    dead.close()
    with pytest.raises(NoController, match="kilnctl run"):
        LinkClient(path)
    serve()
    with LinkClient(path) as client:
        assert client.ask(Command("off")).accepted


def test_a_path_that_is_too_long_is_explained(tmp_path: Path) -> None:
    with pytest.raises(LinkError, match="KILNCTL_HOME"):
        LinkServer(tmp_path / ("x" * 120), accept)


def test_closing_sends_the_last_words_and_removes_the_file(path: Path) -> None:
    server = LinkServer(path, accept)
    with LinkClient(path) as client:
        assert client.ask(Command("view")).accepted
        server.publish(snapshot(3))
        server.close()
        server.close()
        assert [shot.sequence for shot in client.snapshots(timeout_s=60)][-1] == 3
        with pytest.raises(NoController, match="gone"):
            client.ask(Command("off"))
    assert not path.exists()
    server.publish(snapshot(4))


def test_closing_leaves_the_socket_of_a_successor_alone(path: Path) -> None:
    first = LinkServer(path, accept)
    path.unlink()
    with contextlib.closing(LinkServer(path, accept)):
        first.close()
        with LinkClient(path) as client:
            assert client.ask(Command("off")).accepted


@pytest.mark.parametrize("junk", [b"hello?\n", b"[]\n", b'{"command": {"word": 3}}\n', b"\x00" * 5_000_000])
def test_junk_hangs_up_or_is_refused_and_the_others_stay(serve: Served, path: Path, junk: bytes) -> None:
    serve()
    with LinkClient(path) as good, socket.socket(socket.AF_UNIX) as bad:
        bad.settimeout(60)
        bad.connect(str(path))
        with contextlib.suppress(BrokenPipeError, ConnectionResetError):
            bad.sendall(junk)
        assert good.ask(Command("off")).accepted


def test_a_bad_command_is_refused_with_the_field(serve: Served, path: Path) -> None:
    serve()
    with socket.socket(socket.AF_UNIX) as raw, contextlib.ExitStack() as stack:
        raw.settimeout(60)
        raw.connect(str(path))
        lines = stack.enter_context(raw.makefile("r"))
        raw.sendall(b'{"command": {"word": 3}, "id": 9}\n')
        frames = [json.loads(lines.readline()) for _ in range(2)]
    assert frames[1]["id"] == 9
    assert "command.word" in frames[1]["answer"]["why"]


def test_too_many_screens_are_turned_away_politely(serve: Served, path: Path) -> None:
    serve()
    with contextlib.ExitStack() as stack:
        crowd = [stack.enter_context(LinkClient(path)) for _ in range(MOST_CLIENTS)]
        assert crowd[-1].ask(Command("view")).accepted
        for ask in (lambda c: c.ask(Command("view")), LinkClient.newest_of_all, LinkClient.newest):
            with pytest.raises(LinkError, match="32 screens are attached") as turned_away:
                ask(stack.enter_context(LinkClient(path)))
            assert not isinstance(turned_away.value, NoController), "it would be told that nothing runs"
        crowd[0].close()
        assert crowd[-1].ask(Command("off")).accepted


def test_a_snapshot_that_cannot_be_sent_is_told_and_harms_nobody(serve: Served, path: Path) -> None:
    server = serve()
    with LinkClient(path) as client:
        assert client.ask(Command("view")).accepted
        server.publish(dataclasses.replace(snapshot(1), note=object()))  # type: ignore[arg-type]
        server.publish(snapshot(2, "other"))
        assert next(client.snapshots(timeout_s=60)).oven == "other"
        assert "furnace" in server.trouble


def test_publishing_goes_on_while_the_link_is_busy(serve: Served, path: Path) -> None:
    """The tick leaves its snapshot on the table whatever the server's thread is doing."""
    busy, go = threading.Event(), threading.Event()

    def stuck(command: Command) -> Answer:
        busy.set()
        return Answer(go.wait(60))

    server = serve(stuck)
    with LinkClient(path) as client:
        asking = threading.Thread(target=client.ask, args=(Command("view"), 10.0))
        asking.start()
        assert busy.wait(60)
        for n in range(5000):
            server.publish(snapshot(n))
        go.set()
        asking.join()
        assert [shot.sequence for shot in _until(client, 4999)] == [4999]
