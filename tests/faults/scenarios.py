"""The heats on which the campaign tries its faults. All of it invented.

Both bundled ovens; cold, or still warm from the heat before; as they are bundled, with every signal that an
oven file knows, and with nothing but a thermocouple; learned and not learned; steered by model and by PID.
"""

from dataclasses import replace
from functools import cache
from pathlib import Path

from kilnctl.config.home import bundled
from kilnctl.rehearsal.campaign import Scenario, timed

LEARNED = Path(__file__).parent / "learned"
OVENS = ("tempering-oven", "hardening-furnace")
# What the oven file has, and which way its heat is steered.
FITTED = (("bundled", "model"), ("plain", "model"), ("bundled", "pid"), ("full", "pid"))
# Temperatures of ramp, ramp at a rate, controlled cooling, cooling with the heat off; start (None: cold).
POINTS: dict[tuple[str, bool], tuple[int, int, int, int, float | None]] = {
    ("tempering-oven", False): (110, 130, 124, 112, None),
    ("tempering-oven", True): (205, 218, 212, 200, 190.0),
    ("hardening-furnace", False): (90, 110, 105, 98, None),
    ("hardening-furnace", True): (770, 800, 790, 780, 745.0),
}
HEAT = """
name = "every kind of segment (invented)"
section = "6 mm"
[[segment]]
kind = "operator"
step = "confirm"
say = "ready?"
at_most = "5min"
[[segment]]
kind = "ramp"
to = "{0} C"
[[segment]]
kind = "soak"
at = "{0} C"
time = "5min"
[[segment]]
kind = "ramp"
to = "{1} C"
rate = "200 C/h"
[[segment]]
kind = "operator"
step = "check"
say = "look at it"
hold = "{1} C"
at_most = "10min"
[[segment]]
kind = "soak"
at = "{1} C"
time = "3min"
[[segment]]
kind = "cool"
to = "{2} C"
rate = "100 C/h"
[[segment]]
kind = "cool"
to = "{3} C"
at_most = "1h"
"""
LONG = {
    "tempering-oven": """
name = "six hours of tempering (invented)"
section = "6 mm"
[[segment]]
kind = "ramp"
to = "218 C"
[[segment]]
kind = "soak"
at = "218 C"
time = "5h"
[[segment]]
kind = "cool"
to = "180 C"
at_most = "2h"
""",
    "hardening-furnace": """
name = "six hours of annealing (invented)"
section = "6 mm"
[[segment]]
kind = "ramp"
to = "790 C"
rate = "300 C/h"
[[segment]]
kind = "soak"
at = "790 C"
time = "40min"
[[segment]]
kind = "cool"
to = "720 C"
rate = "28 C/h"
[[segment]]
kind = "cool"
to = "700 C"
at_most = "1h"
""",
}
TEMPERATURE = """
[signal.{0}]
device = "board"
table = "input"
register = {1}
format = "int16"
scale = 0.1
unit = "C"
low = "-30 C"
high = "1300 C"
open_values = [32767]
"""
NUMBER = """
[signal.{0}]
device = "board"
table = "input"
register = {1}
format = "uint16"
scale = {2}
"""
SWITCH = """
[signal.{0}]
device = "board"
table = "discrete"
register = {1}
"""
FULL = "".join(
    [TEMPERATURE.format(name, at) for name, at in (("second", 1), ("cold_junction", 2), ("enclosure", 5))]
    + [NUMBER.format("supply_v", 6, 0.1), NUMBER.format("current_a", 7, 0.01), NUMBER.format("counter", 8, 1)]
    + [SWITCH.format(name, at) for name, at in (("fan_on", 2), ("smoke", 3), ("limit_open", 4))]
)


def oven_text(name: str, fitted: str = "bundled", controller: str = "model") -> str:
    """Return a bundled oven's file with more or fewer signals."""
    text = (bundled("ovens") / f"{name}.toml").read_text(encoding="utf-8")
    text = text.replace("use = ", f'controller = "{controller}"\nuse = ', 1)
    if fitted == "full":
        return text + FULL
    if fitted == "plain":
        for signal, register in (("heater_live", 1), ("door_open", 0)):
            text = text.replace(SWITCH.format(signal, register).lstrip("\n"), "")
    return text


def learned_text(name: str) -> str:
    """Return what learning has found of a bundled oven (tests/faults/learn.py), as JSON."""
    return (LEARNED / f"{name}.json").read_text(encoding="utf-8")


@cache
def spans(oven: str, warm: bool) -> tuple[tuple[float, float], ...]:
    return timed(_scenario(oven, warm, "bundled", True, "model")).spans


def _scenario(oven: str, warm: bool, fitted: str, known: bool, controller: str) -> Scenario:
    *goals, start_c = POINTS[oven, warm]
    return Scenario(
        oven=oven_text(oven, fitted, controller),
        profile=HEAT.format(*goals),
        model=learned_text(oven) if known else "",
        start_c=start_c,
        answer_after_s=120.0,
    )


def scenario(
    oven: str, warm: bool = False, fitted: str = "bundled", known: bool = True, controller: str = "model"
) -> Scenario:
    """Return one scenario with the spans of its segments."""
    return replace(_scenario(oven, warm, fitted, known, controller), spans=spans(oven, warm))


@cache
def scenarios() -> tuple[Scenario, ...]:
    """Return all 32 of them."""
    return tuple(
        scenario(oven, warm, fitted, known, controller)
        for oven in OVENS
        for warm in (False, True)
        for known in (True, False)
        for fitted, controller in FITTED
    )


def long_scenario(oven: str) -> Scenario:
    """Return a heat of about six hours from cold."""
    return Scenario(oven=oven_text(oven), profile=LONG[oven], model=learned_text(oven))
