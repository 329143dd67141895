"""What comes in at the other edges: socket, latch file, logbook, environment, command line.

A seeded sample in every run; the long ones by name:
`pytest tests/faults/test_fuzz_edges.py -m on_demand -s`.
"""

import contextlib
import hashlib
import json
import random
import socket
import sqlite3
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from heats import a_book, one_run

from kilnctl.cli.main import COMMANDS, run
from kilnctl.config import home
from kilnctl.errors import KilnctlError, RecordError
from kilnctl.link.client import LinkClient
from kilnctl.link.server import LinkServer
from kilnctl.link.snapshot import Answer, Command
from kilnctl.logbook.writer import Logbook
from kilnctl.marks import latch, reset_conditions
from kilnctl.processes.controller import Controller


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


# --- the socket

ODD = (
    "null",
    "[]",
    "{}",
    '"x"',
    "NaN",
    "1e999",
    "-1",
    "true",
    '"\\u0000"',
    '"\\ud800"',
    "[" * 5000,
    "9" * 5000,
    '{"a":1}',
)
WORDS = (
    "run",
    "status",
    "answer",
    "adjust",
    "acknowledge",
    "reset",
    "quit?",
    "",
    "OFF",
    "silence",
    "mark",
    "note",
)


def command_line(draw: random.Random) -> bytes:
    """Return one line that a broken or hostile client may send."""
    word, value = draw.choice(WORDS), draw.choice(ODD)
    keys = (
        "oven",
        "profile",
        "time_scale",
        "what",
        "by_s",
        "to_c",
        "reply",
        "planned_s",
        "resumes",
        "wait_s",
    )
    args = ",".join(f'"{draw.choice(keys)}":{draw.choice(ODD)}' for _ in range(draw.randint(0, 3)))
    line = draw.choice(
        (
            f'{{"command":{{"word":"{word}","args":{{{args}}}}},"id":{value}}}',
            f'{{"command":{{"word":"{word}","oven":{value},"args":{{}}}},"id":7}}',
            f'{{"command":{{"word":{value},"args":{{}}}},"id":7}}',
            f'{{"command":{value},"id":7}}',
            f'{{"id":{value}}}',
            value,
        )
    ).encode()
    match draw.randrange(6):
        case 0:
            return line[: draw.randrange(len(line) + 1)]
        case 1:
            at = draw.randrange(len(line))
            return line[:at] + draw.randbytes(draw.randint(1, 9)).replace(b"\n", b"") + line[at:]
        case 2:
            return draw.randbytes(draw.randint(0, 200)).replace(b"\n", b"")
    return line


def talk_nonsense(path: Path, count: int, seed: int) -> None:
    """Send lines, a few a connection, as fast as they are taken; what is answered must be answers."""
    draw = random.Random(seed)
    while count > 0:
        lines = [command_line(draw) for _ in range(draw.randint(1, 20))]
        count -= len(lines)
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as client, contextlib.suppress(OSError):
            client.settimeout(10.0)
            client.connect(str(path))
            client.sendall(b"\n".join(lines) + draw.choice((b"\n", b"")))
            client.shutdown(socket.SHUT_WR)
            said = b"".join(iter(lambda: client.recv(65536), b""))
            for line in said.splitlines():
                assert {"hello", "answer", "snapshot"} & json.loads(line).keys()


def assert_off_is_answered(path: Path) -> None:
    """It drives no oven, so it claims nothing, and says at once who does."""
    with LinkClient(path) as client:
        assert "`kilnctl off` goes to the ports" in client.ask(Command("off"), 5.0).why


@pytest.fixture
def controller() -> Iterator[Controller]:
    made = Controller(None)
    yield made
    made.close("the test is over")


def test_a_sample_of_nonsense_leaves_the_real_controller_answering(controller: Controller) -> None:
    talk_nonsense(home.socket_path(), 300, seed=1)
    assert_off_is_answered(home.socket_path())
    assert controller.ovens == {}


@pytest.mark.on_demand
def test_fifty_thousand_lines_of_nonsense(controller: Controller) -> None:
    for seed in range(50):
        talk_nonsense(home.socket_path(), 1000, seed)
        assert_off_is_answered(home.socket_path())
    assert controller.ovens == {}
    print("\n50,000 malformed lines: off was answered after every thousand, no oven was started")


def test_a_line_nested_too_deeply_hangs_up_one_client_only(tmp_path: Path) -> None:
    server = LinkServer(tmp_path / "s", lambda command: Answer(True))
    with contextlib.closing(server), LinkClient(tmp_path / "s") as other:
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as client:
            client.connect(str(tmp_path / "s"))
            client.sendall(b"[" * 100_000 + b"\n")
            client.settimeout(5.0)
            assert b"answer" not in b"".join(iter(lambda: client.recv(65536), b""))
        assert other.ask(Command("off"), 5.0).accepted


# --- the latch

SOUND = {
    "state": "tripped",
    "oven": "oven",
    "utc": "2026-11-25T10:00:00+00:00",
    "kind": "smoke",
    "reason": "the detector speaks",
    "reset": "C",
    "repeat_step": "",
    "run": 3,
}
ANY: tuple[object, ...] = (
    None,
    1,
    -1,
    1e308,
    True,
    "",
    "x",
    "A",
    [],
    ["A"],
    {},
    {"A": 1},
    "\x00",
    "2026-11-25",
    "1" * 5000,
)


def latch_bytes(draw: random.Random) -> bytes:
    """Return what a dying disk, an editor or another program may leave in the place of a latch."""
    data: dict[str, object] = {**SOUND, "number": 1}
    for _ in range(draw.randint(1, 2)):
        data[draw.choice([*SOUND, "more"])] = draw.choice(ANY)
    if draw.random() < 0.3:
        del data[draw.choice(list(data))]
    text = json.dumps(data).encode()
    match draw.randrange(6):
        case 0:
            return text[: draw.randrange(len(text))]
        case 1:
            return draw.randbytes(draw.randint(0, 400))
        case 2:
            return draw.choice(
                (b"", b"\x00" * 200, b"[" * 50_000, b"null", b"[]", b"{}", b"9" * 9000, text + text)
            )
        case 3:
            at = draw.randrange(len(text))
            return text[:at] + bytes([draw.randrange(256)]) + text[at + 1 :]
    return text


def in_a_slot(text: bytes) -> bytes:
    """Return a latch file that holds this text as a whole entry."""
    check = hashlib.sha256(text).hexdigest().encode()
    return (check + b"\n" + text + b"\n").ljust(4096) + bytes(4096)


def check_latches(count: int, seed: int) -> dict[str, int]:
    """Write latch files, ask everything that is ever asked of one; return how often each state was seen."""
    draw, seen = random.Random(seed), dict.fromkeys(("armed", "tripped", "unreadable"), 0)
    now = datetime(2026, 11, 25, 12, tzinfo=UTC)
    place = home.latch_dir() / "oven.latch"
    for _ in range(count):
        text = latch_bytes(draw)
        place.write_bytes(in_a_slot(text) if draw.random() < 0.7 else text)
        place.with_suffix(".trips").write_bytes(latch_bytes(draw))
        said = latch.read("oven")
        assert said is not None
        seen[said.state] += 1
        assert [found.oven for found in latch.latched_ovens()] == ["oven"]
        assert "\n" not in said.line()
        assert reset_conditions.why_not_reset(said, now, 0.0, (), repaired=False)
        with pytest.raises(KilnctlError):
            latch.refuse_latched("oven")
        with pytest.raises(KilnctlError):
            latch.Latch("oven", lambda: now).arm()
    return seen


def test_a_sample_of_latch_files_all_count_as_latched() -> None:
    seen = check_latches(300, seed=1)
    assert seen["unreadable"] > 100
    assert seen["tripped"] > 5


@pytest.mark.on_demand
def test_fifty_thousand_latch_files() -> None:
    print(f"\n50,000 latch files, all of them latched: {check_latches(50_000, seed=2)}")


# --- the logbook


def damaged_book(sound: bytes, draw: random.Random) -> bytes:
    """Return a logbook file after a bad sector, a full disk or an editor."""
    data = bytearray(sound)
    match draw.randrange(5):
        case 0:
            del data[draw.randrange(len(data)) :]
        case 1:
            for _ in range(draw.randint(1, 40)):
                data[draw.randrange(len(data))] = draw.randrange(256)
        case 2:
            at = draw.randrange(len(data))
            data[at : at + 4096] = bytes(len(data[at : at + 4096]))
        case 3:
            at = draw.randrange(len(data))
            data[at : at + 512] = draw.randbytes(len(data[at : at + 512]))
        case _:
            head = draw.randrange(100)
            data[head] ^= 1 << draw.randrange(8)
    return bytes(data)


READING = (
    ("verify", "--json"),
    ("verify", "1"),
    ("runs",),
    ("part", "gouge 7"),
    ("export", "1", "--format", "csv", "--out", "x.csv"),
    ("export", "1", "--format", "json", "--out", "x.json"),
    ("compare", "1", "2"),
)


def a_shop() -> None:
    """Write a logbook with three runs, the last of them without an end."""
    with contextlib.closing(a_book(home.home())) as book:
        for end in (True, True, False):
            one_run(book, 150, end=end)


def check_books(count: int, seed: int, capsys: pytest.CaptureFixture[str]) -> dict[int, int]:
    """Damage a logbook, ask each reader, open it for a heat; return how often each exit code came."""
    a_shop()
    path, draw, codes = home.logbook_path(), random.Random(seed), dict[int, int]()
    sound = path.read_bytes()
    for n in range(count):
        for left in (Path("x.csv"), Path("x.json"), *home.home().glob("logbook.sqlite*")):
            left.unlink(missing_ok=True)
        path.write_bytes(damaged_book(sound, draw))
        words = draw.choice(READING)
        code = clear_line(words, capsys, f"book {seed} {n}")
        codes[code] = codes.get(code, 0) + 1
        with contextlib.suppress(RecordError):
            Logbook(path).close()
    return codes


def clear_line(words: tuple[str, ...], capsys: pytest.CaptureFixture[str], which: str) -> int:
    """Run a command; it ends by the contract: a known exit code, no traceback, one line of refusal."""
    code = run(words)
    said = capsys.readouterr()
    fault = home.home() / "fault.log"
    assert not fault.exists(), f"{which}: {words}: {fault.read_text(encoding='utf-8')[-1500:]}"
    assert code in (0, 2, 3, 6), f"{which}: {words}: exit {code}: {said.err}"
    assert "Traceback" not in said.err + said.out
    if code in (2, 3):
        lines = said.err.strip().split("\n")
        assert lines[-1].startswith("kilnctl: "), f"{which}: {words}: {said.err}"
        assert all(len(line) < 400 and line.isprintable() for line in lines), (
            f"{which}: {words}: {said.err!r}"
        )
    return code


def test_a_sample_of_damaged_logbooks(capsys: pytest.CaptureFixture[str]) -> None:
    codes = check_books(40, 1, capsys)
    assert codes.get(2, 0) + codes.get(6, 0) > 10


@pytest.mark.on_demand
def test_three_thousand_damaged_logbooks(capsys: pytest.CaptureFixture[str]) -> None:
    codes = check_books(3000, 2, capsys)
    with capsys.disabled():
        print(f"\n3,000 damaged logbooks, exit codes: {codes}")


def test_verify_bears_a_number_where_a_hash_should_be(capsys: pytest.CaptureFixture[str]) -> None:
    a_shop()
    with contextlib.closing(sqlite3.connect(home.logbook_path())) as db:
        db.execute("PRAGMA ignore_check_constraints = ON")
        db.execute("UPDATE run SET header_hash = 7 WHERE id = 1")
        db.commit()
    assert clear_line(("verify", "--json"), capsys, "number") in (2, 6)


def test_verify_says_so_where_a_table_is_gone(capsys: pytest.CaptureFixture[str]) -> None:
    a_shop()
    with contextlib.closing(sqlite3.connect(home.logbook_path())) as db:
        db.execute("DROP TABLE block")
    assert run(["verify"]) in (2, 6)
    assert "block" in "".join(capsys.readouterr())


# --- environment and command line

VALUES = (
    *(
        "",
        " ",
        "x",
        "-1",
        "0",
        "nan",
        "inf",
        "1e999",
        "9" * 400,
        "é",
        "\u202e",
        "a\nb",
        "../..",
        "/",
        "/dev/null",
        "2h",
    ),
    *(
        "218C",
        "-5 C",
        "--",
        "-",
        "--json",
        "{}",
        "[]",
        "true",
        "x.toml",
        "tempering-oven",
        "1",
        "gouge-o1-temper",
        "%s%n",
    ),
)
NAMES = (
    "--oven",
    "--json",
    "--for",
    "--soak",
    "--format",
    "--out",
    "--part",
    "--note",
    "--since",
    "--x",
    "--help",
    "-x",
)
# These would go on and on, or ask: they are called with an oven that is not there, whatever else is said.
GOING_ON = ("run", "dry-run", "simulate", "watch", "tune", "commission", "prove", "recipe", "care")


def any_words(draw: random.Random) -> tuple[str, ...]:
    """Return a command line that nobody means."""
    command = draw.choice(sorted(set(COMMANDS) - {"off"}))
    words = [draw.choice(draw.choice((VALUES, NAMES))) for _ in range(draw.randint(0, 4))]
    if command in GOING_ON:
        words += ["--oven", "nowhere", "--no-such-option"]
    return (command, *words)


def check_words(count: int, seed: int, capsys: pytest.CaptureFixture[str]) -> dict[int, int]:
    draw, codes = random.Random(seed), dict[int, int]()
    for n in range(count):
        code = clear_line(any_words(draw), capsys, f"words {seed} {n}")
        codes[code] = codes.get(code, 0) + 1
    return codes


@pytest.fixture
def nobody_there(monkeypatch: pytest.MonkeyPatch) -> None:
    def no_input(_prompt: object = "") -> str:
        raise EOFError

    monkeypatch.setattr("builtins.input", no_input)


@pytest.mark.usefixtures("nobody_there")
def test_a_sample_of_words_that_nobody_means(capsys: pytest.CaptureFixture[str]) -> None:
    assert check_words(60, 1, capsys)[2] > 20


@pytest.mark.parametrize("word", ["9" * 3000, "x/" * 3000, "9" * 300 + ".toml"], ids=["name", "path", "file"])
@pytest.mark.parametrize("command", ["plan", "steel", "export", "reset"])
def test_a_word_too_long_for_a_name(command: str, word: str, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("reset", "--oven", word, "--note", "x") if command == "reset" else (command, word)
    assert clear_line(words, capsys, "long") in (2, 3)


@pytest.mark.parametrize(
    "words",
    [("plan", "a\nb"), ("plan", "a\nb.toml"), ("steel", "a\nb"), ("export", "a\nb"), ("part", "a\nb")],
)
def test_a_line_feed_in_a_word_makes_no_second_line(
    words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    assert clear_line(words, capsys, "line feed") in (0, 2, 3)
    assert capsys.readouterr().err.count("\n") <= 1


@pytest.mark.on_demand
@pytest.mark.usefixtures("nobody_there")
def test_five_thousand_command_lines(capsys: pytest.CaptureFixture[str]) -> None:
    codes = check_words(5000, 2, capsys)
    with capsys.disabled():
        print(f"\n5,000 command lines, exit codes: {codes}")


HOMES: tuple[Callable[[Path], str], ...] = (
    lambda folder: str(folder / "file" / "under"),
    lambda folder: str(folder / "file"),
    lambda folder: "/proc/nowhere",
    lambda folder: "/dev/null/x",
    lambda folder: str(folder / ("x" * 300)),
)


@pytest.mark.parametrize(
    "words", [("status",), ("runs",), ("steel",), ("verify",), ("reset",), ("plan", "gouge-o1-temper")]
)
@pytest.mark.parametrize("place", range(len(HOMES)))
def test_a_home_that_cannot_be(
    words: tuple[str, ...],
    place: int,
    own_home: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    (own_home / "file").write_text("", encoding="utf-8")
    monkeypatch.setenv("KILNCTL_HOME", HOMES[place](own_home))
    assert run(words) == 2
    said = capsys.readouterr().err
    assert said.startswith("kilnctl: ")
    assert said.count("\n") == 1
    assert "KILNCTL_HOME" in said
