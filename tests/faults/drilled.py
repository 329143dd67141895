"""Set-up drills with a fault in them, or put off half-way: judged on the truth, like the heats."""

import random
from dataclasses import dataclass

from kilnctl.clock import VirtualClock
from kilnctl.commissioning.drills import drills
from kilnctl.commissioning.drills.held_drills import wired_for
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError, KilnctlError
from kilnctl.rehearsal.detection_table import EXPECTED, row_of
from kilnctl.rehearsal.dry_run import plant_for
from kilnctl.rehearsal.lateness import ALLOWED, ELEMENT
from kilnctl.rehearsal.perturbed_ovens import plant_near
from kilnctl.rehearsal.simulated_wiring import board_for
from kilnctl.rehearsal.virtual_io import VirtualIO
from kilnctl.tomlfile import loads
from simulator.boards.faults import parse_fault
from simulator.boards.schedule import Script
from tests.faults.scenarios import FITTED, OVENS, oven_text

# Those that heat, how hot they may make an oven by their own words, and what they are there to find: with
# that fault they must not pass.
HEATING = {
    "dead_man": 60.0,
    "pulse": 120.0,
    "limit": 160.0,
    "stop_button": 60.0,
    "limit_opened": 60.0,
    "contactor_dropped": 60.0,
    "relay_dropped": 60.0,
    "door": 150.0,
    "sensor": 100.0,
}
FINDS = {
    "dead_man": ("dead-man-stuck", "boots-on", "replies-silent"),
    "pulse": ("sensor-open", "sensor-reversed", "sensor-frozen", "sensor-scale:0.1", "relay-open"),
    "limit": ("limit-bridged",),
    "door": (),
    "stop_button": (),
    "limit_opened": (),
    "contactor_dropped": (),
    "relay_dropped": (),
    "sensor": (),
}
# As for a heat: the interlock's margin and what fades; a coast of an oven that full heat has just warmed.
MARGIN_K, COAST_K = 25.0, 60.0
OFF_WITHIN_S, AFTER_S, LINE_S = 3.0, 120.0, 11.0


@dataclass(frozen=True, slots=True)
class Drilled:
    """One drill. `wrong` is a sentence, empty where all is well."""

    seed: int
    drill: str
    fault: str
    off_s: float | None
    passed: bool
    line: str
    peak_c: float
    heat_after_s: float
    wrong: str


def drilled(seed: int) -> Drilled:
    """Run the drill of a seed: half of them with a fault, a third put off, on an oven of its own."""
    dice = random.Random(f"drill {seed}")
    name = sorted(HEATING)[seed % len(HEATING)]
    fitted, controller = dice.choice(FITTED)
    oven = loads(oven_text(dice.choice(OVENS), fitted, controller), Oven, ConfigError, "oven")
    fault = (
        dice.choice(FINDS[name] or sorted(EXPECTED)) if dice.random() < 0.3 else dice.choice(sorted(EXPECTED))
    )
    key, _, value = fault.partition(":")
    at_s = 0.0 if dice.random() < 0.5 or fault in FINDS[name] else dice.uniform(5.0, 300.0)
    text = f"{key}@{at_s:.0f}{':' + value if value else ''}" if dice.random() < 0.6 else ""
    off_s = dice.uniform(2.0, 400.0) if dice.random() < 0.33 else None
    return _run(seed, name, oven, text, off_s)


def _run(seed: int, name: str, oven: Oven, text: str, off_s: float | None) -> Drilled:
    clock = VirtualClock()
    plant, volts = plant_near(plant_for(oven, 0).data, seed % 1000, oven.ambient_c)
    limit_c = drills.LIMIT_C if name == "limit" else oven.limit_c
    board = board_for(oven, seed, plant, limit_c)
    board.flaws.volts = volts
    board.flawed()
    faults = [parse_fault(text)] if text else []
    board.schedule(faults)
    oven_io = VirtualIO(wired_for(name, oven), board, clock)
    passed, line = False, ""
    try:
        found = drills.run(name, oven, oven_io, clock, go_on=lambda: off_s is None or clock.now_s() < off_s)
        passed, line = found.passed, found.line
    except KilnctlError as error:
        line = str(error)
    end_s, heat_s = clock.now_s(), 0.0
    if faults and faults[0].at_s > end_s:
        board.script = Script()  # what would only begin after the drill is no matter of the drill
    for _ in range(int(AFTER_S)):
        before_j = board.plant.energy_j
        board.step(1.0)
        heat_s += board.plant.energy_j - before_j > 1.0
    fault = row_of(faults[0]) if faults else ""
    wrong = _wrong(name, oven, fault, passed, board.plant.peak_place_c, heat_s)
    if not wrong and off_s is not None and end_s > off_s + 2.0 and end_s - off_s > OFF_WITHIN_S:
        wrong = f"went on for {end_s - off_s:.0f} s after its off"
    return Drilled(seed, name, text, off_s, passed, line, board.plant.peak_place_c, heat_s, wrong)


def _wrong(name: str, oven: Oven, fault: str, passed: bool, peak_c: float, heat_s: float) -> str:
    line = fault.startswith(("replies", "power-cut", "foreign"))
    if heat_s > (LINE_S if line else OFF_WITHIN_S):
        return f"heat flows for {heat_s:.0f} s after the drill"
    seen = not fault or any(not row.needs for row in ALLOWED.get(fault, ())) or fault not in ALLOWED
    allowed_c = (
        HEATING[name] + COAST_K if seen and not EXPECTED.get(fault, EXPECTED["smoke"]).lies else oven.limit_c
    )
    if peak_c > allowed_c + MARGIN_K:
        return f"truly {peak_c:.0f} °C, {allowed_c + MARGIN_K:.0f} °C allowed"
    shows = name != "limit" or any(getattr(oven.signal, sign) for sign in ELEMENT)  # else a person looks
    return f"passes with {fault}" if passed and shows and fault in FINDS[name] else ""
