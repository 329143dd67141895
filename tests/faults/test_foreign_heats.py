"""From `oven new` to a complete heat on benches of foreign make, by a person at a terminal, in real time.

The oven file does not say that it is simulated, so nothing is spared: each question of `oven new`, the set-up
steps that a live heat needs, the caution before a heat. Nothing of `simulator/` is behind the port.
"""

import contextlib
import re
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

import leftovers
import pytest
from faults.lamp import LampReader
from faults.live_heat import until
from foreign.bench_answers import Told, bench_answers
from foreign.benches import BENCHES, ROOM_C, Board, Firmware
from foreign.chip import TOOLS, Chip
from foreign.first_answers import odd_answers
from foreign.first_sheets import ODD
from foreign.fourth_answers import fourth_answers
from foreign.fourth_sheets import FOURTH
from foreign.second_answers import odder_answers
from foreign.second_sheets import ODDER
from foreign.third_answers import third_answers
from foreign.third_sheets import THIRD
from typist import Typist

from kilnctl.config.oven import load_oven
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.permits import step_results
from kilnctl.permits.needed_steps import needs
from kilnctl.permits.setup_steps import find_step

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]
LIVE = (
    "caution", "oven file", "bus check", "dead-man test", "cold check", "heater pulse", "drop test",
    "earth and insulation",
)  # fmt: skip
CHIP = {"chip": Chip} if TOOLS else {}
SAID = {
    "independent limit, with unit": "275 C",
    "Which machine": "small oven, 230 V, own fuse",
    "thermometer read": "20 C",
    "stay on": "5 s",
    "What did a meter": "",
    "Note ": "as written",
    "Who measured": "A. Electrician, licence 7",
    "Earth, from shell": "0.1 ohm",
    "Insulation, from": "200 megohm",
}


def at_the_bench(board: Board) -> dict[str, Callable[[], object]]:
    """What a maker's hands do when the walk asks for it."""

    def be(**now: object) -> Callable[[], None]:
        return lambda: [setattr(board.air, key, value) for key, value in now.items()] and None

    def cable(there: bool) -> Callable[[], None]:
        return lambda: setattr(board, "cable", there)

    return {
        "Switch the board's supply off": cable(False),
        "switch the supply on again": lambda: (board.power_off(), cable(True)()),
        "A lamp or meter in place": be(lamp=True),
        "dead-man test: passed|cold check .needed": be(lamp=False),
        "pull the data cable now": cable(False),
        "stay on after": cable(True),
        "warm the sensor now": be(hand_k=5.0),
        "sensor's label match": be(hand_k=0.0),
        "press the emergency stop now": be(stopped=True),
        "emergency stop: seen|Emergency stop pressed while": be(stopped=False),
        "open the independent limit now": be(tripped=True),
        "independent limit: (seen|the heat)": be(tripped=False),
    }


class Newcomer:
    """A person with an empty home, one bench and the program."""

    def __init__(self, folder: Path, name: str) -> None:
        self.home, self.board, self.name = (
            folder / "h",
            (BENCHES | CHIP | ODD | ODDER | THIRD | FOURTH)[name](),
            name,
        )
        self.env = {
            "PATH": "/usr/bin:/bin",
            "HOME": str(folder),
            "KILNCTL_HOME": str(self.home),
            "TERM": "xterm",
        }
        self.text, self.lamp = "", LampReader(lambda: self.board.lit)

    @property
    def told(self) -> Told:
        """What is answered to `oven new`: the odd benches have sheets of their own."""
        at = self.board.path, getattr(self.board, "other_path", "")
        sheets = odd_answers(*at) | odder_answers(*at) | third_answers(at[0]) | fourth_answers(at[0])
        # a pseudo-terminal has neither parity nor 7 bits, and says so at its second opening
        return {**(bench_answers(at[0]) | sheets)[self.name], r"\.parity": "none", "data_bits": "8"}

    def types(
        self,
        *words: str,
        answers: Mapping[str, str | Callable[[], str]],
        acts=None,
        within_s=900.0,
        default="y",
    ) -> int:
        typist, began_s = (
            Typist([sys.executable, "-m", "kilnctl.cli.main", *words], self.env),
            time.monotonic(),
        )
        try:
            code = typist.go({**answers, "numbers": self.lamp.numbers}, acts or {}, within_s, default)
        finally:
            typist.close()
        self.text = typist.text
        print(f"--- {self.name}: kilnctl {' '.join(words)}: exit {code}, {time.monotonic() - began_s:.0f} s")
        print(self.text)
        return code

    def heats(self, code: int, outcome: str, acts=None, more: tuple[str, ...] = ()) -> None:
        """Heat, from the first question to the record; the board's own log judges it."""
        heat = ("--soak", "32C", "--for", "10s", "--oven", "bench", "--json", *more)
        assert self.types("run", *heat, answers={}, acts=acts, within_s=1800.0) == code
        with Reader(self.home / "logbook.sqlite") as book:
            assert (book.run(1).outcome, book.header(1).simulated) == (outcome, False)
        assert self.board.air.peak_c > ROOM_C
        assert not self.board.air.live
        if isinstance(self.board, Firmware):
            pins = [one for _, one in self.board.pins]
            assert pins[0] == (0, 0, 0)
            assert any(heater and contactor for heater, contactor, _ in pins)
            assert pins[-1][:2] == (0, 0)

    def says(self, *words: str) -> "subprocess.CompletedProcess[str]":
        """Run one command to its end, with nobody to answer it."""
        words = (sys.executable, "-m", "kilnctl.cli.main", *words)
        return subprocess.run(words, env=self.env, capture_output=True, text=True, timeout=60.0, check=False)

    def close(self) -> None:
        leftovers.end_home(self.home)
        self.lamp.close()
        self.board.close()


@pytest.fixture
def newcomer(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Newcomer]:
    made = Newcomer(tmp_path, request.param)
    yield made
    made.close()


@pytest.mark.on_demand
@pytest.mark.parametrize("newcomer", [*BENCHES, *CHIP, *ODD, *ODDER, *THIRD, *FOURTH], indirect=True)
def test_from_an_empty_home_to_a_complete_heat(newcomer: Newcomer) -> None:
    assert newcomer.types("oven", "new", answers=newcomer.told, default="") == 0
    assert newcomer.types("oven", "check", "bench", answers={}) == 0
    acts = at_the_bench(newcomer.board)
    for step in (one for one in LIVE if one != "dead-man test" or newcomer.name != "panel"):
        assert newcomer.types("commission", "bench", "--step", step, answers=SAID, acts=acts) == 0
    listed = newcomer.types("commission", "bench", "--list", answers={})
    assert listed == 0
    assert not re.search("(open|overdue) .*needed for (everything|live heat)$", newcomer.text, re.M)
    newcomer.heats(0, "complete")
    assert 30.0 < newcomer.board.air.peak_c < 60.0


@contextlib.contextmanager
def once(happens: Callable[[], object], act: Callable[[], Any]) -> Iterator[list[Any]]:
    """Do something as soon as something has happened, beside what is done meanwhile; give what came of it."""
    done: list[Any] = []
    thread = threading.Thread(target=lambda: until(happens, 120.0) and done.append(act()))
    thread.start()
    yield done
    thread.join()


def set_up_before(home: Path, steps: Iterable[str]) -> None:
    """Store set-up steps as passed, those that another test does on the same bench."""
    path, now_s = home / "ovens" / "bench.toml", time.time()
    oven, text = load_oven(path), path.read_text(encoding="utf-8")
    with Logbook(home / "logbook.sqlite") as book:
        for step in map(find_step, steps):
            value = VALUES.get(step.name, 0.0)
            tested = {"tested": {"horn": "yes", "lamp": "yes"}} if step.drill == "horn" else {}
            step_results.keep(book, oven, text, step, True, now_s, value=value, data=tested)


@pytest.mark.on_demand
@pytest.mark.parametrize("newcomer", ["relay-script"], indirect=True)
def test_a_heat_is_left_alone(newcomer: Newcomer) -> None:
    """Nobody answers after the start: the dead-man tests itself, the heat ends, and all is off."""
    assert newcomer.types("oven", "new", answers=newcomer.told, default="") == 0
    set_up_before(newcomer.home, LIVE)
    heat = ("--soak", "32C", "--for", "30s", "--oven", "bench", "--unattended", "--json")
    assert newcomer.types("run", *heat, answers={}) == 3
    assert "limit test" in newcomer.text
    assert "first temper" in newcomer.text
    oven = load_oven(newcomer.home / "ovens" / "bench.toml")
    steps = [step.name for step in needs("unattended temper", oven)]
    set_up_before(newcomer.home, [*steps, "known temperature"])
    newcomer.heats(0, "complete", more=("--unattended",))
    assert "dead-man" in newcomer.text
    with Reader(newcomer.home / "logbook.sqlite") as book:
        assert book.header(1).unattended


VALUES = {"dead-man test": 5.0, "heater pulse": 1.0, "limit test": 150.0}
SAMPLE = "relay-script" if shutil.which("cc") is None else "firmware"


@pytest.mark.parametrize("newcomer", [SAMPLE], indirect=True)
def test_a_short_heat_of_one_of_them(newcomer: Newcomer) -> None:
    """The everyday sample: the set-up is stored as done, and off is asked once heat flows."""
    assert newcomer.types("oven", "new", answers=newcomer.told, default="") == 0
    set_up_before(newcomer.home, LIVE)
    with once(lambda: newcomer.board.air.live, lambda: newcomer.says("off", "--oven", "bench")) as said:
        newcomer.heats(5, "stopped")
    assert said[0].returncode == 0, said
