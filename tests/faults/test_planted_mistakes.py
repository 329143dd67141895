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
from faults.first_hour_mistakes import FIRST_HOUR, BusyNowAndThen
from faults.fresh_mistakes import FRESH_MISTAKES
from faults.more_mistakes import MORE
from faults.odd_mistakes import ODD_MISTAKES
from faults.planted_bench import OVEN, ROOM_C, Bench, Mistake, TimerBench, seen
from foreign import Unit
from maker import Maker

from kilnctl.cli.oven.oven_file.check import report
from kilnctl.clock import RealClock
from kilnctl.commissioning.drill_rig import DrillRig
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
DEAD_MAN = OVEN[OVEN.index("[dead_man]") :]
MISTAKES = [
    Mistake("no dead-man in the file", "oven check", "no dead-man. The ways are", DEAD_MAN, ""),
    Mistake(
        "two outputs on one coil",
        "oven check",
        "share coil 0 of relays",
        "register = 1\n[[",
        "register = 0\n[[",
    ),
    Mistake("a limit without a unit", "oven check", r"limit.*unit", '"1000 C"', "1000"),
    Mistake("a key misspelt", "oven check", r"unknown key", "baud = 19200", "bauds = 19200"),
    Mistake(
        "a word for on",
        "oven check",
        "on and off are numbers",
        "register = 1\n[[",
        'register = 1\non = "ON"\n[[',
    ),
    Mistake(
        "heater among the inputs",
        "oven check",
        "cannot be written",
        'table = "coil"\nregister = 0',
        'table = "input"\nregister = 9',
    ),
    Mistake("sensor ends below the limit", "oven check", "must lie above the limit", '"1300 C"', '"900 C"'),
    Mistake(
        "an address on the internet",
        "oven check",
        "never heated over the internet",
        'path = "PATH"\nbaud = 19200',
        'path = "tcp://8.8.8.8:502"',
    ),
    Mistake("no such port", "bus check", "there is no such port", "PATH", "/dev/ttyUSB77"),
    Mistake(
        "wrong speed",
        "bus check",
        "it does with baud = 19200",
        "baud = 19200",
        "baud = 9600",
        never="swap the two data wires",
    ),
    Mistake(
        "wrong address",
        "bus check",
        "address 1 does",
        "address = 1",
        "address = 7",
        never="swap the two data wires",
    ),
    Mistake(
        "an adapter that echoes",
        "bus check",
        "an echo. Switch its echo off",
        board=lambda: Bench(echoes=True),
    ),
    Mistake(
        "another board at the address",
        "bus check",
        "holds 41, not 77: another device answers",
        "expect = 41",
        "expect = 77",
    ),
    Mistake("a board that starts on", "bus check", "came up ON", board=lambda: Bench(boots_on=True)),
    Mistake(
        "a contact that counts from one",
        "bus check",
        "has no discrete 1, but discrete 0",
        'discrete"\nregister = 0',
        'discrete"\nregister = 1',
    ),
    Mistake(
        "a second oven's board on the line",
        "bus check",
        "address 3 answers, which the oven file does not have",
        plant=lambda b: b.units.update({3: Unit(holding={0: 0})}),
    ),
    Mistake(
        "the module is not powered",
        "bus check",
        "sensor: nothing answers at address 2",
        plant=lambda b: b.units.pop(2),
    ),
    Mistake(
        "a board without the dead-man that the file names",
        "dead-man test",
        "NO dead-man, no live heat",
        board=lambda: Bench(holds_s=0.0),
    ),
    Mistake(
        "a dead-man slower than the file says",
        "dead-man test",
        "5 s were expected",
        board=lambda: Bench(holds_s=9.0),
    ),
    Mistake(
        "a dead-man register that is not there",
        "dead-man test",
        "the device refuses|no holding 7",
        "register = 0\nwrite",
        "register = 7\nwrite",
    ),
    Mistake("ten times too much", "cold check", "With scale = 0.1 it would show", **seen(0, "1.0")),
    Mistake("degrees Fahrenheit", "cold check", 'With unit = "F" it would show', **seen(2)),
    Mistake(
        "words in the other order",
        "cold check",
        'With word_order = "low first" it would show',
        **seen(4, "1.0", form="float32"),
    ),
    Mistake(
        "a register that counts from one",
        "cold check",
        "With register = 0 it would show",
        never="scale|unit =",
        **seen(1),
    ),
    Mistake(
        "an open sensor",
        "bus check",
        "the device reports an open sensor",
        plant=lambda b: setattr(b, "broken", True),
    ),
    Mistake(
        "swapped leads",
        "cold check",
        "its two leads are swapped",
        never="scale|unit =",
        plant=lambda b: setattr(b, "sign", -1.0),
    ),
    Mistake(
        "a sensor that is not in this oven",
        "cold check",
        "was another sensor warmed",
        plant=lambda b: setattr(b, "warm", lambda: None),
        never="leads are swapped|scale",
    ),
    Mistake(
        "a coil that counts from one",
        "heater pulse",
        "shows no power at the element: relay, fuse, door switch or coil number",
        plant=lambda b: setattr(b, "heater", 2),
    ),
    Mistake(
        "no sign, in a cold workshop",
        "cold check",
        'With format = "int16" it would show',
        **seen(0, form="uint16"),
        maker={"thermometer read": "-3 C"},
        plant=lambda b: b.be_in(-3.0),
    ),
    Mistake("whole degrees taken for tenths", "cold check", "With scale = 1 it would show", **seen(3)),
    Mistake(
        "two boards with one address",
        "bus check",
        "Two devices with one address",
        plant=lambda b: setattr(b, "twin", Unit(coil=dict.fromkeys(range(4), 1), discrete={0: 1})),
    ),
    Mistake(
        "a relay that leaks or is welded",
        "bus check",
        "a relay that leaks or is welded",
        plant=lambda b: setattr(b, "leaks", True),
    ),
    Mistake(
        "the data wires swapped",
        "bus check",
        "swap the two data wires",
        plant=lambda b: setattr(b, "cable", False),
    ),
    Mistake(
        "a couple shorted at its head",
        "cold check",
        "or do its wires touch",
        plant=lambda b: setattr(b, "shorted", True),
    ),
    Mistake(
        "a sensor left outside the oven",
        "heater pulse",
        "the sensor is not in the chamber",
        plant=lambda b: setattr(b, "inside", False),
    ),
    Mistake(
        "the normally closed contact",
        "heater pulse",
        "normally closed contact",
        plant=lambda b: setattr(b, "closed_at_rest", True),
    ),
]
# Those that are told in some ten seconds; the whole table is made on demand.
LONG = ("dead-man test", "heater pulse")
WAITED_FOR = (
    "the data wires swapped", "a couple shorted at its head", "a sensor that is not in this oven",
    "wrong parity", "A and B swapped at one device",
)  # fmt: skip
EVERY = (*MISTAKES, *MORE, *ODD_MISTAKES, *FRESH_MISTAKES, *FIRST_HOUR)
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
    clock, buses = RealClock(), None
    maker = Maker(
        no=no,
        answers={"thermometer read": "20 C", "stay on": "5 s", **(told or {})},
        acts={"warm the sensor now": bench.hand},
    )
    with contextlib.ExitStack() as left:
        book, buses = left.enter_context(Logbook(None)), Buses(clock, opener=bench.opener)
        shop = Shop(
            oven=oven, oven_text=text, person=maker, clock=clock, book=book,
            oven_io=lambda: open_oven_io(oven, clock, 1.0, buses),
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
    return step, line.strip().removeprefix("WRONG").strip(), seconds


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
        print(f"\n## Found by the {step}\n")
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
        passed, words = walked("dead-man test", oven, text, bench, no="go out by itself")
        assert not passed
        assert "NO dead-man" in words or "did not go out" in words
    finally:
        bench.close()
