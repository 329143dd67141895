"""A newcomer's mistakes on a board that is a plain script: what tells each, in which words, after how long.

Nothing of `simulator/` is behind it. A mistake is planted in the oven file or on the bench; each is told by
the first step of the set-up that can, in words that name the cure, and none that name a wrong one. The whole
table is made on demand and printed; every day a few are tried.
"""

import contextlib
import os
import random
import re
import struct
import time
from pathlib import Path

import pytest
from faults.planted import at_the_oven, network, oven_file, panel, serial_line, tables, text_board
from faults.planted.bench import DEAD_MAN, OVEN, ROOM_C, Bench, BusyNowAndThen, Mistake, TimerBench
from maker import Maker

from kilnctl.cli.oven.oven_file.check import report
from kilnctl.clock import RealClock
from kilnctl.commissioning.drills.drill_rig import DrillRig
from kilnctl.commissioning.procedures import DOING
from kilnctl.commissioning.wizard import Shop, do_step
from kilnctl.config.oven import Oven
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError
from kilnctl.logbook.writer import Logbook
from kilnctl.permits.setup_steps import find_step
from kilnctl.tomlfile import loads

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]
STEPS = ("oven check", "bus check", "dead-man test", "cold check", "heater pulse")
# Those that are told in some ten seconds; the whole table is made on demand.
LONG = ("dead-man test", "heater pulse")
WAITED_FOR = (
    "the data wires swapped", "a couple shorted at its head", "a sensor that is not in this oven",
    "wrong parity", "A and B swapped at one device",
)  # fmt: skip
EVERY = (
    *oven_file.MISTAKES,
    *serial_line.MISTAKES,
    *tables.MISTAKES,
    *network.MISTAKES,
    *text_board.MISTAKES,
    *panel.MISTAKES,
    *at_the_oven.MISTAKES,
)
QUICK = [m for m in EVERY if m.step not in LONG and m.name not in WAITED_FOR]
DRAWN = 5
TRIES, AGAIN = 3, re.compile("do it again|do this step again")


def told(mistake: Mistake, folder: Path) -> tuple[str, str, float]:
    """Return the step that told the mistake, its words, and the seconds since the first command."""
    bench, began_s = mistake.board(), time.monotonic()
    mistake.plant(bench)
    assert not mistake.old or mistake.old in mistake.file, mistake.name
    text = mistake.file.replace(mistake.old, mistake.new, 1) if mistake.old else mistake.file
    try:
        text = text.replace("PATH", bench.path)
        try:
            oven = loads(text, Oven, ConfigError, "bench-oven.toml")
        except ConfigError as e:
            return "oven check", str(e), time.monotonic() - began_s
        said = "\n".join(report(oven, "bench-oven"))
        if re.search(mistake.says, said):
            return "oven check", said, time.monotonic() - began_s
        for step in STEPS[1 : STEPS.index(mistake.step) + 1] if mistake.step in STEPS[1:] else ():
            began_s = began_s if step != mistake.step else time.monotonic()
            if step not in (mistake.step, "bus check"):
                continue  # the steps before have their own sound run below
            passed, words = walked(step, oven, text, bench, mistake.no, mistake.maker)
            if not passed:
                return step, words, time.monotonic() - began_s
        return "nothing", said, time.monotonic() - began_s
    finally:
        bench.close()


def walked(
    step: str, oven: Oven, text: str, bench: Bench, no: str = "", told: dict[str, str] | None = None
) -> tuple[bool, str]:
    clock, buses, board = RealClock(), None, getattr(bench, "board", bench)
    maker = Maker(
        no=no,
        answers={"thermometer read": "20 C", "stay on": "5 s", **(told or {})},
        acts={
            "warm the sensor now": bench.hand,
            "pull the data cable now": lambda: setattr(bench, "cable", False),
            "stay on": lambda: setattr(bench, "cable", True),
            "Switch the board's supply off": lambda: setattr(board, "cable", False),
            "switch the supply on again": lambda: setattr(board, "cable", True),
        },
    )
    with contextlib.ExitStack() as left:
        book, buses = left.enter_context(Logbook(None)), Buses(clock, opener=bench.opener)
        shop = Shop(
            oven=oven, oven_text=text, person=maker, clock=clock, book=book,
            oven_io=lambda like: open_oven_io(like, clock, 1.0, buses),
            probe=lambda: Probe(oven, clock, bench.opener, range(1, 9)), addresses=range(1, 5),
        )  # fmt: skip
        kept = do_step(shop, find_step(step), DOING)
    return kept is not None and kept.passed, maker.text


def judged(mistake: Mistake, folder: Path) -> tuple[str, str, float]:
    for _ in range(TRIES):
        step, words, seconds = told(mistake, folder)
        if not AGAIN.search(words):
            break  # only what the program itself calls nothing known, for a busy machine, is done again
    wrong = "\n".join(line for line in words.splitlines() if "WRONG" in line) or words
    hit = re.search(mistake.says, wrong)
    assert step == mistake.step, f"{mistake.name}: {step}: {wrong[-600:]}"
    assert hit, f"{mistake.name}: {wrong[-600:]}"
    assert not re.search(mistake.never, wrong), f"{mistake.name}: {wrong[-600:]}"
    line = next(line for line in wrong.splitlines() if re.search(mistake.says, line))
    return step, as_at_a_bench(line.strip().removeprefix("WRONG").strip()), seconds


def as_at_a_bench(words: str) -> str:
    """Return words with the ports of a maker in place of those of a test."""
    words = re.sub(r"tcp://127\.0\.0\.1:\d+", "tcp://192.168.4.20:502", words)
    return re.sub(r"/dev/pts/\d+", "/dev/ttyUSB0", words)


@pytest.mark.parametrize("number", range(DRAWN))
def test_a_planted_mistake_is_told_with_its_cure(number: int, tmp_path: Path) -> None:
    """Others every day; PLANTED_DAY=2026-11-29 draws those of that day again."""
    day = os.environ.get("PLANTED_DAY") or RealClock().utc().date().isoformat()
    judged(random.Random(day).sample(QUICK, DRAWN)[number], tmp_path)


@pytest.mark.on_demand
def test_every_planted_mistake_makes_the_table(tmp_path: Path) -> None:
    """Prints the page's lists: by the step that finds it, each mistake, the seconds, the words."""
    rows, failed = [], []
    for mistake in EVERY:
        try:
            rows.append((mistake.name, *judged(mistake, tmp_path)))
        except AssertionError as e:
            failed.append(str(e))
        print(rows[-1] if not failed or not failed[-1].startswith(mistake.name) else failed[-1], flush=True)
    for step in dict.fromkeys(found_by for _, found_by, *_ in rows):
        print(f"\n## Found by the {step}\n")  # these lists are the page connect/first-mistakes.md
        print("\n".join(f"- **{n}** ({t:.0f} s): {w}" for n, s, w, t in rows if s == step))
    assert not failed, "\n".join(failed)
    assert len(rows) >= 25
    assert sum(seconds <= 30.0 for *_, seconds in rows) >= 20


def test_the_sound_bench_passes_the_bus_check_and_the_cold_check(tmp_path: Path) -> None:
    bench = Bench()
    try:
        text = OVEN.replace("PATH", bench.line.path)
        oven = loads(text, Oven, ConfigError, "bench-oven.toml")
        for step in ("bus check", "cold check"):
            passed, words = walked(step, oven, text, bench)
            assert passed, words
    finally:
        bench.close()
    assert struct.calcsize(">f") == 4


@pytest.mark.on_demand
def test_a_module_that_is_busy_now_and_then_passes_the_heater_pulse() -> None:
    """One reading in fifteen is missing: once, that was "start from a cold oven with a good sensor"."""
    bench = BusyNowAndThen()
    try:
        text = OVEN.replace("PATH", bench.line.path)
        passed, words = walked("heater pulse", loads(text, Oven, ConfigError, "bench-oven.toml"), text, bench)
        assert passed, words
        assert bench.asked > 15
    finally:
        bench.close()


CONTACTOR = OVEN[OVEN.index("[output.contactor]") : OVEN.index("[[identity]]")]
LIVE = OVEN[OVEN.index("[signal.heater_live]") : OVEN.index("[output.heater]")]
TIMER = """[dead_man]
device = "relays"
table = "coil"
register = 1
write = 1
then = 0
drops_after = "5 s"
"""
TIMER_OVEN = OVEN.replace(CONTACTOR, "").replace(DEAD_MAN, TIMER)


@pytest.mark.on_demand
@pytest.mark.parametrize("witness", ["contact", "lamp"])
def test_a_timer_relay_from_the_set_up_to_a_heat(witness: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The way out for the commonest board without a dead-man, step by step, and a short heat to its end."""
    bench = TimerBench()
    try:
        text = TIMER_OVEN if witness == "contact" else TIMER_OVEN.replace(LIVE, "")
        text = text.replace("PATH", bench.line.path)
        oven = loads(text, Oven, ConfigError, "bench-oven.toml")
        assert oven.dead_man_seen is (witness == "contact")
        for step in ("bus check", "dead-man test", "cold check"):
            began_s = time.monotonic()
            passed, words = walked(step, oven, text, bench)
            assert passed, words
            print(witness, step, f"{time.monotonic() - began_s:.0f} s")
            bench.air_c = bench.seen_c = ROOM_C  # a lamp was in the heater's place
        assert ("Did the lamp come on" in words) is False
        bench.hand_k = 0.0
        oven_io = open_oven_io(oven, RealClock())
        try:
            oven_io.connect()
            rig = DrillRig(oven, oven_io, RealClock())
            scan = rig.heat_to(35.0, 200.0, lambda scan: (scan.process.value or 0.0) >= 35.0)
            assert scan is not None, rig.trip
            assert oven_io.off()
        finally:
            oven_io.close()
        assert bench.relays.tables["coil"][0] == 0
    finally:
        bench.close()


@pytest.mark.on_demand
def test_a_lamp_that_does_not_go_out_fails_the_set_up() -> None:
    bench = TimerBench(timer_s=600.0)
    try:
        text = TIMER_OVEN.replace(LIVE, "").replace("PATH", bench.line.path)
        oven = loads(text, Oven, ConfigError, "bench-oven.toml")
        passed, words = walked("dead-man test", oven, text, bench, no="go out by itself|Do it again")
        assert not passed
        assert "NO dead-man" in words or "did not go out" in words
    finally:
        bench.close()
