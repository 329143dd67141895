"""From `oven new` to a complete heat on benches of foreign make, by a person at a terminal, in real time.

The oven file does not say that it is simulated, so nothing is spared: each question of `oven new`, the set-up
steps that a live heat needs, the caution before a heat. Nothing of `simulator/` is behind the port.
"""

import re
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import leftovers
import pytest
from faults.lamp import LampReader
from foreign_ovens import BENCHES, Board
from typist import Typist

from kilnctl.logbook.readers import Reader

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow, pytest.mark.on_demand]
LIVE = (
    "caution", "oven file", "bus check", "dead-man test", "cold check", "heater pulse", "drop test",
    "earth and insulation",
)  # fmt: skip
PLATE = {
    "^name": "bench", "^use": "tempering", "^build": "leaky", "^power": "1200 W", "^limit": "260 C",
    "^isolator": "red switch by the door", r"^switching\.kind": "solid-state",
    r"process\.low": "-20 C", r"process\.high": "400 C",
}  # fmt: skip
RELAYS = {
    r"device\.sensors?: is this": "n", r"\.relays\.address": "1", r"process\.register": "0",
    r"process\.format": "int16", r"process\.scale": "0.1", r"process\.offset": "0.0", r"process\.unit": "C",
    r"process\.fault": "n", r"signal\.second": "n", r"signal\.heater_live.*y/n": "y",
    r"heater_live\.register": "0", r"signal\.door_open.*y/n": "y", r"door_open\.register": "1",
    r"heater\.register": "0", r"contactor.*y/n": "y", r"contactor\.register": "1", r"output\.horn.*y/n": "y",
    r"horn\.register": "2",
    "identity.*y/n": "y", r"identity\.register": "50", r"identity\.expect": "41", "^dead_man:": "y",
    r"dead_man\.register": "0", r"dead_man\.write": "5", r"dead_man\.drops_after": "5 s",
    r"inverted": "false", r"output\.lamp.*y/n": "y", r"lamp\.register": "2",
}  # fmt: skip
Told = Mapping[str, str | Callable[[], str]]
TOLD: dict[str, Told] = {
    "pymodbus-tcp": {"^kind": "5", **RELAYS},
    "rtu-over-tcp": {"^kind": "5", **RELAYS},
    "firmware": {
        "^kind": "9", r"\.baud": "115200", r"board\.name": "carver_bench", r"current_a.*y/n": "n",
        r"counter.*y/n": "n", r"contactor.*y/n": "y", r"lamp.*y/n": "y", "^dead_man:": "y",
        r"dead_man\.write": "10", r"dead_man\.drops_after": "10 s", r"stay on": "10 s",
    },
    "pymodbus-pty": {"^kind": "1", r"\.baud": "19200", r"\.parity": "none", **RELAYS},
    "relay-script": {"^kind": "1", r"\.baud": "19200", r"\.parity": "none", **RELAYS},
    "timer": {
        "^kind": "4", r"heater\.back.*y/n": "y", r"back\.register": "0", r"dead_man\.register": "1",
        r"dead_man\.write": "1", r"dead_man\.then": "0",
        **{asked: said for asked, said in RELAYS.items() if not asked.startswith("dead_man")},
        r"dead_man\.drops_after": "5 s",
    },
    "words": {
        "^kind": "8", r"ask\.send": iter(("READ", "")).__next__,
        r"ask\.reply": r"T={process}\nDOOR {door}\nHEAT {heater}\nLAMP {lamp}\nEND",
        r"heater\.send": "HEAT {value}", r"heater\.reply": "HEAT IS {value}",
        r"lamp\.send": "LAMP {value}", r"lamp\.reply": "LAMP IS {value}",
        r"alive\.send": "ALIVE", r"alive\.reply": "OK", r"\.baud": "9600", r"\.who": "-", "^dead_man:": "y",
        r"dead_man\.write": "1",
        r"dead_man\.drops_after": "5 s", r"door_open.*y/n": "y", r"lamp.*y/n": "y",
    },
    "panel": {
        "^kind": "6", r"\.format": "float32", r"\.word_order": "low first", r"\.resolution": "-",
        r"\.address": "5", r"process\.register": "0", r"heater\.register": "10",
        r"link_loss": "holds", r"\.park": "0 C", r"heater_live.*y/n": "y", r"heater_live\.table": "discrete",
        r"heater_live\.register": "0", r"heater_live\.bit": "-", "contactor.*y/n": "n",
        r"lamp.*y/n": "y", r"lamp\.register": "2",
    },
}  # fmt: skip
SAID = {
    "independent limit, with unit": "275 C",
    "Which machine": "small oven, 230 V, own fuse",
    "thermometer say": "20 C",
    "stay on": "5 s",
    "Note ": "as written",
    "Who measured": "A. Electrician, licence 7",
    "Earth of shell": "0.1 ohm, 200 megohm",
}


def at_the_bench(board: Board) -> dict[str, Callable[[], object]]:
    """What a maker's hands do when the walk asks for it."""

    def be(**now: object) -> Callable[[], None]:
        return lambda: [setattr(board.air, key, value) for key, value in now.items()] and None

    def cable(there: bool) -> Callable[[], None]:
        return lambda: setattr(board, "cable", there)

    return {
        "Switch the board's supply off": board.power_off,
        "A lamp or meter in place": be(lamp=True),
        "dead-man test: passed|cold check .needed": be(lamp=False),
        "pull the data cable now": cable(False),
        "lamp stay on": cable(True),
        "warm the sensor now": be(hand_k=5.0),
        "sensor's label agree": be(hand_k=0.0),
        "press the emergency stop now": be(stopped=True),
        "emergency stop: seen": be(stopped=False),
    }


class Newcomer:
    """A person with an empty home, one bench and the program."""

    def __init__(self, folder: Path, name: str) -> None:
        self.home, self.board, self.name = folder / "h", BENCHES[name](), name
        self.env = {
            "PATH": "/usr/bin:/bin",
            "HOME": str(folder),
            "KILNCTL_HOME": str(self.home),
            "TERM": "xterm",
        }
        self.text, self.lamp = "", LampReader(lambda: self.board.lit)

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

    def close(self) -> None:
        leftovers.end_home(self.home)
        self.lamp.close()
        self.board.close()


@pytest.fixture
def newcomer(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Newcomer]:
    made = Newcomer(tmp_path, request.param)
    yield made
    made.close()


@pytest.mark.parametrize("newcomer", BENCHES, indirect=True)
def test_from_an_empty_home_to_a_complete_heat(newcomer: Newcomer) -> None:
    told = {r"\.path": newcomer.board.path, **TOLD[newcomer.name], **PLATE, r"\[y/n\] $": "n"}
    assert newcomer.types("oven", "new", answers=told, default="") == 0
    assert newcomer.types("oven", "check", "bench", answers={}) == 0
    acts = at_the_bench(newcomer.board)
    for step in (one for one in LIVE if one != "dead-man test" or newcomer.name != "panel"):
        assert newcomer.types("commission", "bench", "--step", step, answers=SAID, acts=acts) == 0
    listed = newcomer.types("commission", "bench", "--list", answers={})
    assert listed == 0
    assert not re.search("(open|overdue) .*needed for (everything|live heat)$", newcomer.text, re.M)
    heat = ("--soak", "32C", "--for", "10s", "--oven", "bench", "--json")
    assert newcomer.types("run", *heat, answers={}, within_s=1800.0) == 0
    with Reader(newcomer.home / "logbook.sqlite") as book:
        assert (book.run(1).outcome, book.header(1).simulated) == ("complete", False)
    assert newcomer.board.air.peak_c < 60.0
    assert not newcomer.board.air.live
