"""status, answer, adjust, acknowledge: what crosses the real socket, and what a person is told."""

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from heats import one_run

from kilnctl.cli.heat import reset
from kilnctl.cli.main import run
from kilnctl.config import home
from kilnctl.errors import RunRefused
from kilnctl.link.server import LinkServer
from kilnctl.link.snapshot import AlarmView, Answer, Command, Snapshot, Waiting
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.marks import hot_ovens, latch, running_ovens, supervisor_report

OVEN = Snapshot(
    oven="left",
    simulated=True,
    sequence=1,
    utc="2026-01-01T00:00:00Z",
    state="running",
    word="soaking",
    elapsed_s=60.0,
    process_c=217.6,
    setpoint_c=218.0,
    part_c=216.0,
    goal_c=218.0,
    limit_c=260.0,
    duty=0.2,
    heat_on=True,
    run=7,
    profile="temper twice",
    total_left_s=5400.0,
    waiting=Waiting("look", "look at the colour", 50.0, 900.0, heat_on_meanwhile=True),
    alarms=(AlarmView("late", "the part is late", "soon", "unacknowledged", 30.0),),
)


class Host:
    """A controller of one oven: takes what the real one takes and remembers it."""

    def __init__(self) -> None:
        self.took: list[Command] = []
        self.refuses = ""
        self.holds: dict[str, dict[str, object]] = {"left": {"run": 7, "busy": True, "holds": True}}

    def handle(self, command: Command) -> Answer:
        if command.word == "status":
            return Answer(True, data={"ovens": self.holds})
        self.took.append(command)
        if command.word == "let go":
            self.holds = {}
        return Answer(not self.refuses, self.refuses)


@pytest.fixture
def host(own_home: Path) -> Iterator[Host]:
    host = Host()
    server = LinkServer(home.socket_path(), host.handle)
    server.publish(OVEN)
    yield host
    server.close()


def test_status_says_what_matters(host: Host, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["status"]) == 0
    said = capsys.readouterr().out
    for word in ("left: soaking", "218", "1 h 30 min", "run 7", "look at the colour", "the part is late"):
        assert word in said


def test_status_for_scripts_is_one_object(host: Host, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["status", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["ovens"]["left"]["process_c"] == 217.6
    assert said["interrupted"] == []


def test_status_without_a_controller(own_home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["status"]) == 0
    assert capsys.readouterr().out == "nothing is running\n"


def test_status_after_a_crash_names_the_oven_that_may_be_hot(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    running_ovens.mark(
        "tempering-oven", (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
    )
    ids = {found.name: found.id for found in running_ovens.marks()}
    utc = "2026-01-01T00:00:00+00:00"
    supervisor_report.write(
        supervisor_report.LastWords(utc, "the controller died", {"tempering-oven": False}, ids)
    )
    run(["status"])
    said = capsys.readouterr().out
    assert "interrupted" in said
    assert "tempering-oven" in said
    assert "the controller died" in said
    supervisor_report.write(
        supervisor_report.LastWords(utc, "an earlier heat", {"tempering-oven": True}, {"tempering-oven": "x"})
    )
    run(["status"])
    said = capsys.readouterr().out
    assert "never read back" in said
    assert "an earlier heat" not in said
    assert "heat is off, read back" not in said


def test_an_oven_that_nobody_has_seen_cold_is_called_hot_without_any_controller(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The sign is there from before the heat; the record knows the last reading, a watch its own."""
    with Logbook(home.logbook_path()) as book:
        number = one_run(book, count=3600, end=False)
        last = Reader(book.connection).newest(number)
    assert last is not None
    assert last.process_c is not None
    hot_ovens.sign(hot_ovens.Hot("tempering-oven", "2026-01-01T00:00:00+00:00", number))
    hot_ovens.sign(hot_ovens.Hot("left one", "2026-01-01T12:00:00+00:00", 3, 412.0))
    (own_home / "hot" / "torn.json").write_text("{")
    run(["status"])
    said = capsys.readouterr().out
    at = datetime.fromtimestamp(last.utc_s).strftime("%Y-%m-%d %H:%M")
    assert f"tempering-oven: off, but it may be HOT: {last.process_c:.0f} °C" in said
    assert f"when the heat ended, {at}; not yet seen below 50 °C (122 °F); nothing is watching it" in said
    assert "left one: off, but it may be HOT: 412 °C (774 °F) at the last reading" in said
    assert "left one: off, but it may be HOT: 412 °C (774 °F)" in said
    assert "torn: off, but it may be HOT: nobody knows how hot it got" in said
    assert "`kilnctl run --record-only --oven tempering-oven` watches it" in said
    run(["status", "--json"])
    assert {o["oven"] for o in json.loads(capsys.readouterr().out)["may_be_hot"]} >= {"left one", "torn"}
    assert run(["watch"]) != 0
    assert "left one: off, but it may be HOT" in capsys.readouterr().err


def test_a_watched_oven_needs_no_sign_and_one_that_was_left_shows_nothing_old(
    host: Host, capsys: pytest.CaptureFixture[str]
) -> None:
    hot_ovens.sign(hot_ovens.Hot("left", "2026-01-01T00:00:00+00:00", 7, 300.0))
    run(["status"])
    assert "may be HOT" not in capsys.readouterr().out
    host.holds = {"left": {"run": 7, "busy": False, "holds": False}}
    run(["status"])
    said = capsys.readouterr().out
    assert "left: off, but it may be HOT: 300 °C" in said
    assert "soaking" not in said


def armed(oven: str, run_id: int) -> latch.Latch:
    """Return the latch of a heat that is about to begin: armed on the disk."""
    made = latch.Latch(oven, lambda: datetime(2026, 1, 1, tzinfo=UTC))
    made.arm(run_id)
    return made


def test_status_does_not_call_a_heat_that_starts_an_interrupted_one(
    host: Host, capsys: pytest.CaptureFixture[str]
) -> None:
    """Latch and mark are on the disk before the first picture is published."""
    armed("right", 8)
    running_ovens.mark("right", (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8"))
    host.holds["right"] = {"run": 8, "busy": True}
    run(["status"])
    said = capsys.readouterr().out
    assert "right: the heat is about to begin" in said
    assert "interrupted" not in said
    assert "latched" not in said


@pytest.mark.parametrize("held", [{}, {"left": {"run": 7, "busy": False}}], ids=["not known", "over"])
def test_status_names_an_interrupted_heat_beside_a_running_controller(
    held: dict[str, dict[str, object]], host: Host, capsys: pytest.CaptureFixture[str]
) -> None:
    armed("left", 7)
    host.holds = held
    run(["status"])
    said = capsys.readouterr().out
    local = datetime.fromisoformat("2026-01-01T00:00:00+00:00").astimezone().strftime("%Y-%m-%d %H:%M")
    assert f'a heat of oven "left" that began at {local} was interrupted' in said
    assert "`kilnctl run --from 7`" in said


def test_a_heat_that_ends_while_status_looks_is_no_interruption(
    host: Host, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its latch is read before the controller is asked, and has gone when the answer comes."""
    made, before = armed("left", 7), latch.latched_ovens

    def read_and_end() -> list[latch.Latched]:
        found = before()
        made.release()
        return found

    monkeypatch.setattr(latch, "latched_ovens", read_and_end)
    host.holds = {"left": {"run": 7, "busy": False}}
    run(["status"])
    assert "interrupted" not in capsys.readouterr().out


def test_watch_without_a_controller_says_what_an_interrupted_heat_asks_for(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["watch"]) == 3
    assert "interrupted" not in capsys.readouterr().err
    armed("left", 7)
    assert run(["watch"]) == 3
    said = capsys.readouterr().err
    assert "no controller is running; start one with `kilnctl run" in said
    assert 'a heat of oven "left" that began at' in said
    assert "`kilnctl run --from 7`" in said
    assert "`kilnctl reset --oven left`" in said


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


def test_shelve_crosses_the_socket_with_its_reason(host: Host, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["shelve", "supply", "--for", "20min", "--why", "meter reads low"]) == 0
    assert host.took[-1].word == "shelve"
    assert host.took[-1].args == {"kind": "supply", "for_s": 1200.0, "why": "meter reads low"}
    assert "comes back" in capsys.readouterr().out
    assert run(["shelve", "supply", "--why", ""]) == 3
    host.refuses = "a trip cannot be shelved"
    assert run(["shelve", "smoke", "--why", "it is fog"]) == 3
    assert "a trip cannot be shelved" in capsys.readouterr().err


async def test_the_screen_does_not_reset_a_live_oven_from_afar(monkeypatch: pytest.MonkeyPatch) -> None:
    from dataclasses import replace

    from kilnctl.cli.watch import watch
    from kilnctl.permits import presence

    monkeypatch.setattr(presence, "here_now", lambda: False)
    answer = await watch.reset_here(replace(OVEN, simulated=False), "lead was loose")
    assert not answer.accepted
    assert "not at the machine" in answer.why
    assert "kilnctl reset --oven left" in answer.why


def test_the_set_up_takes_over_an_oven_that_is_only_watched(
    host: Host, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Hot or not; a heat is never taken over."""
    with pytest.raises(RunRefused, match="still run by the controller; `kilnctl off` ends that"):
        reset.take_over("left")
    assert host.took == []
    reset.take_over("right")
    host.holds = {"left": {"run": 7, "busy": False, "holds": True}}
    reset.take_over("left")
    assert [(c.word, c.oven) for c in host.took] == [("let go", "left")]
    host.holds = {"left": {"run": 7, "busy": False, "holds": True}}
    monkeypatch.setattr(reset, "LETS_GO_S", -1.0)
    with pytest.raises(RunRefused, match="has not released left"):
        reset.take_over("left")
