"""Text boards as their sheets tell them: the file that `oven new` writes by asking reads right at once.

Plain scripts on a pseudo-terminal or a socket; nothing of kilnctl or its simulator is in them.
"""

import contextlib
import re
import socket
import threading
import time
from collections.abc import Callable, Iterator

import pytest
from foreign.asking import MOST_ASKED
from foreign.first_answers import in_turn
from foreign.wires import OnAPty, lines

from kilnctl.cli.oven.oven_file.asking.asking import Asker
from kilnctl.cli.oven.oven_file.file_text import written
from kilnctl.cli.oven.oven_file.templates import WAYS
from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError
from kilnctl.readings import Quality
from kilnctl.tomlfile import loads

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]
ON, TEXT_WAY = HeatRequest(True, 1.0), WAYS[6]
PLATE = {
    "^name": "bench", "^build": "leaky", r"\.baud:": "9600", r"\.line_end:": "LF", "^power": "1200 W",
    "^limit": "260 C", "^isolator": "red switch", r"process\.low": "-20 C", r"process\.high": "400 C",
    "drops_after": "5 s", r"\.unit": "C", r"switching\.kind": "solid-state", "^dead_man:": "y",
    r"heater\.holds: Is it": "n", r"alive\.send": "ALIVE", r"alive\.reply": "OK", r"\.open_words": "---",
    r"heater\.send": "H {value}", r"heater\.reply": "OK", r"y/n\] $": "n",
}  # fmt: skip


class Board:
    """21.5 °C, a heater that is told H 1 or H 0, and ALIVE; `says` is the answer to R, `end` ends all."""

    def __init__(self, says: str, end: str = "\n", around: str = "{}", holds_s: float = 1e9) -> None:
        self.shown, self._says, self._end, self._around, self._holds_s = "21.5", says, end, around, holds_s
        self._until_s = 0.0

    @property
    def heat(self) -> bool:
        return time.monotonic() < self._until_s

    def __call__(self, line: str) -> str:
        if line[:2] == "H ":
            self._until_s = time.monotonic() + self._holds_s if line == "H 1" else 0.0
        on = int(self.heat)
        said = self._says.format(t=self.shown, on=on, word=f"{0x8000 | on:04X}") if line == "R" else "OK"
        return self._around.format(said, line=line) + self._end


@contextlib.contextmanager
def on_a_pty(board: Board, end: bytes = b"\n") -> Iterator[str]:
    line = OnAPty(lines(board, end))
    try:
        yield line.path
    finally:
        line.close()


@contextlib.contextmanager
def on_a_socket(board: Board, hello: bytes, refusal: bytes = b"") -> Iterator[str]:
    """A board that greets its first caller, and has only a word for a second one."""
    listener, free = socket.create_server(("127.0.0.1", 0)), threading.Lock()

    def serve(peer: socket.socket) -> None:
        with peer, contextlib.suppress(OSError):
            if not free.acquire(blocking=False):
                peer.sendall(refusal)
                return
            try:
                peer.sendall(hello)
                came = b""
                while got := peer.recv(100):
                    came += got
                    while b"\n" in came:
                        line, _, came = came.partition(b"\n")
                        peer.sendall(board(line.decode()).encode())
            finally:
                free.release()

    def accept() -> None:
        with contextlib.suppress(OSError):
            while True:
                threading.Thread(target=serve, args=(listener.accept()[0],), daemon=True).start()

    threading.Thread(target=accept, daemon=True).start()
    try:
        yield f"socket://127.0.0.1:{listener.getsockname()[1]}"
    finally:
        listener.shutdown(socket.SHUT_RDWR)
        listener.close()


def asked(path: str, answers: dict[str, str | Callable[[], str]]) -> Oven:
    told, heard = {r"\.path": path, r"ask\.send": in_turn("R", ""), **answers, **PLATE}, []

    def ask(question: str) -> str:
        heard.append(question)
        assert len(heard) < MOST_ASKED, heard[-3:]
        found = next((said for words, said in told.items() if re.search(words, question)), "")
        return found if isinstance(found, str) else found()

    made = Asker(TEXT_WAY, ask, lambda _: None, ports=list).file()
    return loads(written(made), Oven, ConfigError, "bench")


def checked(oven: Oven) -> None:
    """The wires pass, the temperature is right, heat comes and goes, and nothing is left on the line."""
    probe = Probe(oven, RealClock())
    found = [*probe.answers(), *probe.places()]
    probe.close()
    assert all(one.good for one in found), found
    oven_io = open_oven_io(oven, RealClock())
    try:
        oven_io.connect()
        for at in range(2):
            assert oven_io.scan(at).process.value == pytest.approx(21.5, abs=0.06)
        assert oven_io.drive(ON)
        assert oven_io.feed()
        seen = oven_io.scan(2.0)
        assert (seen.heat_on, seen.link.foreign) == (True, 0)
        assert oven_io.off()
        assert oven_io.scan(3.0).heat_on is False
    finally:
        oven_io.close()


PLAIN = {r"ask\.reply": "{process} {heater}"}
BOARDS = {
    "a full stop ends each answer": (
        Board("TEMP {t}\nHEAT {on}", around="{}\n."),
        {r"ask\.reply": r"TEMP {process}\nHEAT {heater}\n.", r"(heater|alive)\.reply": r"OK\n."},
    ),
    "a decimal comma": (
        Board("{t};{on}"),
        {r"ask\.reply": "{process};{heater}", "micro, anything": in_turn("decimal", ""), "decimal": ","},
    ),
    "the second of four by its place": (
        Board("19.1,{t},400,{on}"),
        {r"ask\.reply": in_turn("{any},{process},{any},{heater}", "{x1},{process},{x2},{heater}")},
    ),
    "one of three by its label": (
        Board("AMB=19.1 TC1={t} TC2=33.3 OUT={on}"),
        {r"ask\.reply": "{any} TC1={process} {any} OUT={heater}"},
    ),
    "degrees Fahrenheit whatever its front shows": (Board("70.7 {on}"), {r"process\.unit": "F", **PLAIN}),
    "hexadecimal, and a status word with flags in its upper byte": (
        Board("00D7{word}"),
        {
            r"ask\.reply": "{process:+XXXX}{state:XXXX}", r"process\.scale": "0.1",
            "heater, anything": in_turn("back", ""), r"back\.field": "state",
            "back, anything": in_turn("mask", ""), r"back\.mask": "0x00FF",
        },
    ),
    "an ON that lasts 5 s": (
        Board("{t} {on}", holds_s=5.0),
        {r"heater\.holds: Is it": "y", r"heater\.holds: ": "5 s", **PLAIN},
    ),
    "a prompt without a line end": (Board("{t} {on}", end="\n> "), {r"\.prompt": '"> "', **PLAIN}),
    "WAIT is asked about": (Board("{t} {on}"), {r"\.busy_words": "WAIT, BUSY", **PLAIN}),
}  # fmt: skip


@pytest.mark.parametrize("name", BOARDS)
def test_a_board_is_told_by_its_sheet_and_read_at_the_first_try(name: str) -> None:
    board, answers = BOARDS[name]
    comma = "comma" in name
    board.shown = "21,5" if comma else "21.5"
    with on_a_pty(board) as path:
        checked(asked(path, answers))


@pytest.mark.parametrize("echo_end", ["\r", "\r\n"])
def test_a_board_that_repeats_each_key_ends_the_echo_as_the_command_was_ended(echo_end: str) -> None:
    """As a terminal has it: what was typed, its CR, the answer, CR LF, a prompt. The echo was read as a part
    of the answer."""
    board = Board("T={t} H={on}", end="\r\n> ", around=f"{{line}}{echo_end}{{}}")
    with on_a_pty(board, b"\r") as path:
        answers = {r"\.line_end": "CR", "answer_end": "CR LF", "echoes": "y", r"\.prompt": '"> "'}
        checked(asked(path, {**answers, r"ask\.reply": "T={process} H={heater}"}))


@pytest.mark.parametrize(
    ("hello", "prompt"), [(b"OVENBOX 2\nREADY\n", ""), (b"OVENBOX 2\nREADY\n> ", "> "), (b"OVENBOX 2 \n", "")]
)
def test_a_board_that_greets_whoever_connects(hello: bytes, prompt: str) -> None:
    board = Board("{t} {on}", end=f"\n{prompt}")
    with on_a_socket(board, hello) as path:
        answers = {
            r"\.banner:": "OVENBOX",
            r"banner_wait": "2 s",
            r"\.prompt": f'"{prompt}"' if prompt else "",
        }
        checked(asked(path, {**answers, **PLAIN}))


def test_a_second_caller_who_is_told_busy_is_told_that_somebody_else_has_it() -> None:
    """Once it was "look in its settings for a connection that stays open"."""
    with on_a_socket(Board("{t} {on}"), b"", b"BUSY\n") as path:
        host, _, port = path.removeprefix("socket://").partition(":")
        with socket.create_connection((host, int(port))):
            time.sleep(0.1)
            probe = Probe(asked(path, PLAIN), RealClock())
            (found,) = probe.answers()
            probe.close()
    assert "said 'BUSY'" in found.say
    assert "another program or computer has it" in found.say


def test_dashes_are_an_open_probe() -> None:
    board = Board("T={t} H={on}")
    board.shown = "---"
    with on_a_pty(board) as path:
        oven = asked(path, {r"ask\.reply": "T={process} H={heater}"})
        oven_io = open_oven_io(oven, RealClock())
        oven_io.connect()
        assert oven_io.scan(0.0).process.quality is Quality.OPEN
        oven_io.close()
