"""What the messenger tells, to whom and when; its process and its receipts, on a service in this process."""

import subprocess
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from message_service import Service

from kilnctl.cli.main import run
from kilnctl.clock import RealClock, VirtualClock
from kilnctl.config import channels, home
from kilnctl.config.channels import Channel
from kilnctl.link.server import LinkServer
from kilnctl.link.snapshot import AlarmView, Answer, Snapshot, Waiting
from kilnctl.logbook.entries import Message, read
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.processes import messenger

pytest.importorskip("apprise")
NOW = Snapshot(
    oven="left", simulated=True, sequence=1, utc="2026-01-01T00:00:00Z", state="running", word="soaking",
    elapsed_s=60.0, process_c=217.6, setpoint_c=218.0, part_c=216.0, goal_c=218.0, limit_c=260.0, duty=0.2,
    heat_on=True, run=7, isolator="red switch",
)  # fmt: skip
WAITING = replace(NOW, waiting=Waiting("unload", "take it out", 50.0, 900.0, heat_on_meanwhile=True))
OVER = replace(NOW, state="complete", outcome="complete")
TRIPPED = replace(
    NOW, state="tripped", trip="Sensor: gone", trip_kind="sensor_lost", heat_on=False, off_read_back=True
)
UNREAD = replace(TRIPPED, off_read_back=False)
STILL_ON = replace(UNREAD, heat_on=True)
MORE = replace(TRIPPED, trip_later=("Rising while off: 300 °C",))


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, service: Service) -> Service:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    channels.path().write_text(f'[[channel]]\nname = "phone"\nurl = "{service.url}"\n', encoding="utf-8")
    channels.path().chmod(0o600)
    return service


def kept() -> list[Message]:
    with Reader(home.logbook_path()) as reader:
        return read(reader, Message)


def test_what_is_new_is_told_once() -> None:
    told = [[n.told for n in messenger.news(a, b)] for a, b in (
        (None, NOW), (NOW, WAITING), (WAITING, WAITING), (WAITING, NOW), (NOW, TRIPPED), (TRIPPED, TRIPPED),
        (NOW, OVER), (OVER, OVER),
        (None, TRIPPED), (TRIPPED, UNREAD), (UNREAD, STILL_ON), (STILL_ON, TRIPPED), (TRIPPED, MORE),
    )]  # fmt: skip
    assert told == [
        [], ["ready"], [], [], ["trip"], [], ["end"], [], ["trip"], ["trip"], ["trip"], [], ["trip"]
    ]  # fmt: skip


def test_a_step_that_waits_past_half_its_time_is_told_again() -> None:
    long = replace(WAITING, elapsed_s=500.0)
    assert [n.told for n in messenger.news(WAITING, long)] == ["late"]
    assert messenger.news(long, replace(long, elapsed_s=600.0)) == []


def test_a_recording_that_does_not_hear_its_hot_oven_any_more_tells_it_once() -> None:
    """It was told as a trip, with the power to be cut; nothing is, but somebody should look."""
    watched = replace(NOW, word="off but hot", only_watched=True)
    alarm = AlarmView("link_lost", "Line to the board: no valid reply", "urgent", "new", 60.0)
    silent = replace(watched, alarms=(alarm,))
    (said,) = messenger.news(watched, silent)
    assert (said.told, said.words) == ("trip", "left (run 7): Line to the board: no valid reply")
    assert messenger.news(silent, silent) == []
    assert messenger.news(silent, watched) == []


def test_a_trip_names_the_isolator() -> None:
    assert "cut the power: red switch" in messenger.news(NOW, TRIPPED)[0].words
    assert "STILL ON. CUT THE POWER NOW: red switch" in messenger.news(NOW, STILL_ON)[0].words


def test_a_channel_gets_only_what_it_wants(shop: Service) -> None:
    only = (Channel(name="phone", url=shop.url, tells=("trip",)),)
    messenger.watch([NOW, WAITING, TRIPPED], only, RealClock(), lambda *_: None)
    assert len(shop.got) == 1
    assert "HEAT IS OFF" in shop.got[0]


def test_the_test_is_sent_stored_and_shown(shop: Service, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["messages", "--test"]) == 0
    assert shop.got == ["a test: nothing is wrong"]
    shop.status = 500
    assert run(["messages", "--test"]) == 1
    assert [(m.told, m.channel, m.delivered) for m in kept()] == [
        ("test", "phone", True),
        ("test", "phone", False),
    ]
    assert run(["messages"]) == 0
    said = capsys.readouterr().out
    assert "test by phone: taken" in said
    assert "NOT taken" in said
    assert "secret" not in said


def test_its_process_watches_like_a_screen_and_keeps_the_receipt(shop: Service) -> None:
    with Logbook(home.logbook_path()):
        pass
    server = LinkServer(home.socket_path(), lambda _: Answer(True))
    server.publish(NOW)
    process = subprocess.Popen(messenger.PROCESS)
    clock = RealClock()
    give_up_s = clock.real_s() + 60.0
    try:
        while not kept() and clock.real_s() < give_up_s:
            server.publish(TRIPPED)
            clock.pause(0.2)
        server.close()
        assert process.wait(90) == 0
    finally:
        process.kill()
        process.wait()
    assert "left (run 7): HEAT IS OFF, read back. Sensor: gone" in shop.got[0]
    assert (kept()[0].told, kept()[0].run, kept()[0].delivered) == ("trip", 7, True)


def test_an_address_is_called_while_an_oven_heats_and_only_then(service: Service) -> None:
    alive = channels.Alive(url=service.url.replace("json", "http"), every="30 s")
    clock = VirtualClock()

    def pictures() -> Iterator[Snapshot]:
        for second in range(95):
            clock.advance(1.0)
            yield replace(NOW, elapsed_s=float(second))
        for _ in range(95):
            clock.advance(1.0)
            yield OVER

    messenger.watch(pictures(), (), clock, lambda *_: None, alive)
    assert service.got == ["GET /secret"] * 4


def test_an_address_that_does_not_answer_ends_nothing() -> None:
    alive = channels.Alive(url="http://127.0.0.1:9/x")
    messenger.watch([NOW], (), RealClock(), lambda *_: None, alive)
