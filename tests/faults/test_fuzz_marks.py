"""Every file of a home harmed in every way: noise, a cut at any length, folders, links, pipes, huge files.

Each time an oven stands latched by a trip. Asked of whoever looks at the marks: one clear line or nothing, no
hang, no other fault than the program's own, no heat, and the trip is not lost. A seeded sample in every run;
`pytest tests/faults/test_fuzz_marks.py -m on_demand -s` does the whole.
"""

import contextlib
import io
import os
import random
import shutil
import signal
import socket
import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from kilnctl.cli.main import run
from kilnctl.config import home
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import KilnctlError
from kilnctl.marks import (
    hot_ovens,
    known_wiring,
    latch,
    off_stamp,
    ovens_in_charge,
    running_ovens,
    supervisor_report,
)
from kilnctl.marks.mark_writer import Ties, Writer
from kilnctl.marks.oven_identity import identity_of
from kilnctl.processes import post_mortem
from kilnctl.readings import ResetClass, Trip

NAME, HANGS_S = "small", 5
NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
STUCK = Trip("over_temperature", "270 °C", 12.0, reset=ResetClass.B)


@pytest.fixture
def text() -> str:
    bundled = (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
    return bundled.replace("lines/tempering-oven", "/dev/no-such-port").replace("tempering-oven", NAME)


@pytest.fixture
def machine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(off_stamp, "MACHINE", tmp_path / "machine")
    return tmp_path / "machine"


@contextlib.contextmanager
def a_home(text: str) -> Iterator[Path]:
    """Give a home in which everything was left that a heat leaves, and its oven has tripped."""
    folder = Path(tempfile.mkdtemp(prefix="kf-"))
    before, os.environ["KILNCTL_HOME"] = os.environ.get("KILNCTL_HOME"), str(folder)
    try:
        (folder / "ovens").mkdir()
        (folder / "ovens" / f"{NAME}.toml").write_text(text, encoding="utf-8")
        oven = load_oven(folder / "ovens" / f"{NAME}.toml")
        off_stamp.leave(folder, None, off_stamp.outlets(text), "the fuzz")
        off_stamp.leave(folder, NAME, (), "the fuzz")
        running_ovens.mark(NAME, text)
        running_ovens.clear(NAME)
        running_ovens.mark(NAME, text)
        known_wiring.keep(oven, text)
        hot_ovens.sign(hot_ovens.Hot(NAME, NOW.isoformat(), 1, 200.0))
        one = latch.Latch(NAME, lambda: NOW, run=1, identity=identity_of(oven))
        one.arm()
        one.trip(STUCK)
        supervisor_report.write(supervisor_report.LastWords(NOW.isoformat(), "a test", {NAME: True}))
        for name in ("supervisor.lock", f"drill-{NAME}.lock"):
            (folder / name).write_text(f"{os.getpid()}\n")
        yield folder
    finally:
        os.environ.pop("KILNCTL_HOME")
        if before is not None:
            os.environ["KILNCTL_HOME"] = before
        shutil.rmtree(folder, ignore_errors=True)


# --- harm


def noise(path: Path, dice: random.Random) -> None:
    path.write_bytes(dice.randbytes(dice.choice((0, 1, 7, path.stat().st_size, 9000))))


def cut(path: Path, dice: random.Random) -> None:
    os.truncate(path, dice.randrange(path.stat().st_size or 1))


def flipped(path: Path, dice: random.Random) -> None:
    data = bytearray(path.read_bytes() or b"\0")
    for _ in range(dice.randint(1, 3)):
        data[dice.randrange(len(data))] ^= 1 << dice.randrange(8)
    path.write_bytes(data)


def gone(path: Path, _dice: random.Random) -> None:
    shutil.rmtree(path) if path.is_dir() else path.unlink()


def a_folder(path: Path, dice: random.Random) -> None:
    gone(path, dice)
    path.mkdir()
    if dice.random() < 0.5:
        (path / "something").write_bytes(b"in it")


def a_link(path: Path, dice: random.Random) -> None:
    there = path.with_name(f"elsewhere-{path.name}")
    path.rename(there)
    path.symlink_to(dice.choice((there, "/dev/zero", "/dev/null", "/no/such/place", path)))


def a_file(path: Path, dice: random.Random) -> None:
    gone(path, dice)
    path.write_bytes(dice.randbytes(20))


def a_pipe(path: Path, dice: random.Random) -> None:
    gone(path, dice)
    os.mkfifo(path)


def a_socket(path: Path, dice: random.Random) -> None:
    gone(path, dice)
    with socket.socket(socket.AF_UNIX) as listener:
        listener.bind(str(path))


def huge(path: Path, _dice: random.Random) -> None:
    os.truncate(path, 1 << 34)  # 16 GB of nothing: sparse


OF_FOLDERS = (gone, a_folder, a_file, a_link, a_pipe, a_socket)
HARMS = (noise, cut, flipped, gone, a_folder, a_link, a_pipe, a_socket, huge)


# --- who looks


def command(*words: str) -> None:
    """Say a command: an exit code of its own, and one line a complaint."""
    said, complained = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(complained):
        code = run(list(words))
    told = said.getvalue() + complained.getvalue()
    assert "Traceback" not in told, told
    assert code not in (70, -1), told
    longest = 700 if "--json" not in words else 1_000_000
    assert all(len(line) < longest and (line.isprintable() or not line) for line in told.splitlines()), told


def writer(oven: Oven, text: str) -> Writer:
    token = off_stamp.stamps_now(home.home())
    watch = off_stamp.StampWatch(token, home.home(), oven.name, off_stamp.outlets(text))
    return Writer(oven.name, watch, Ties(lambda: True, lambda _name: ""), identity_of(oven))


def lookers(oven: Oven, text: str) -> dict[str, Callable[[], Any]]:
    """Return everybody who looks at the marks before an act; none of them may heat."""

    def refused() -> None:
        assert writer(oven, text).why_not_begin(), "a heat may begin though the oven has tripped"

    def told_again() -> None:
        one = latch.Latch(oven.name, lambda: NOW, run=1, identity=identity_of(oven))
        one.trip(Trip("smoke", "again", 13.0))
        one.escalate("still rising", ResetClass.C)

    return {
        "off": lambda: command("off"),
        "off by name": lambda: command("off", "--oven", NAME),
        "status": lambda: command("status"),
        "status as data": lambda: command("status", "--json"),
        "reset": lambda: command("reset", "--oven", NAME, "--note", "looked at it"),
        "a start": refused,
        "a supervisor": running_ovens.marks,
        "its words": supervisor_report.read,
        "its post-mortem": lambda: post_mortem.keep("it died", {NAME: True}, Clock()),
        "a mark": lambda: running_ovens.mark(oven.name, text),
        "an off that was read back": lambda: running_ovens.clear(oven.name),
        "a hot sign": lambda: hot_ovens.sign(hot_ovens.Hot(oven.name, NOW.isoformat(), 2, 99.0)),
        "who is hot": hot_ovens.signed,
        "who is in charge": lambda: ovens_in_charge.in_charge(None),
        "wiring": lambda: (known_wiring.recall(oven.name, text), known_wiring.keep(oven, text)),
        "a stamp": lambda: off_stamp.leave(home.home(), oven.name, off_stamp.outlets(text), "again"),
        "a trip": told_again,
        "an end": lambda: latch.Latch(oven.name, lambda: NOW, run=1).arm(),
    }


class Clock:
    """As much of a clock as a post-mortem asks."""

    def utc(self) -> datetime:
        return NOW


@contextlib.contextmanager
def no_longer_than(seconds: int) -> Iterator[None]:
    def hung(*_: Any) -> None:
        raise TimeoutError("it hangs")

    before = signal.signal(signal.SIGALRM, hung)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def played(seed: int, text: str) -> str:
    """Harm one or two files, let one or two look; return what was wrong, empty where nothing was."""
    dice = random.Random(seed)
    with a_home(text) as folder:
        oven = load_oven(folder / "ovens" / f"{NAME}.toml")
        looks = lookers(oven, text)
        meant = dice.sample(sorted(folder.rglob("*")), dice.choice((1, 1, 2)))
        harmed = [(path, dice.choice(OF_FOLDERS if path.is_dir() else HARMS)) for path in meant]
        for path, harm in harmed:
            if path.exists():  # the folder that it lay in may be gone
                harm(path, dice)
        asked = [dice.choice(list(looks)) for _ in range(dice.randint(1, 3))]
        what = f"{seed}: {[(str(p.relative_to(folder)), h.__name__) for p, h in harmed]}, then {asked}"
        for name in asked:
            try:
                with no_longer_than(HANGS_S):
                    looks[name]()
            except KilnctlError as e:
                if "\n" in str(e):
                    return f"{what}: {name}: more than a line: {e}"
            except BaseException as e:
                return f"{what}: {name}: {type(e).__name__}: {e}"
        if latch.read(NAME) is None:
            return f"{what}: the trip is lost"
        return ""


@pytest.mark.usefixtures("machine")
def test_a_sample_of_harmed_homes(text: str) -> None:
    wrong = [found for seed in range(60) if (found := played(seed, text))]
    assert wrong == []


@pytest.mark.on_demand
@pytest.mark.usefixtures("machine")
def test_five_thousand_harmed_homes(text: str) -> None:
    wrong = [found for seed in range(1000, 6000) if (found := played(seed, text))]
    print("\n".join(wrong))
    assert wrong == []
