"""The set-up steps of an oven as data: what to do, what to expect, what each one blocks, when it expires."""

from dataclasses import dataclass
from typing import Literal

from kilnctl.errors import ConfigError
from kilnctl.units import DAY_S

Blocks = Literal["everything", "live heat", "live heat above 260 °C", "unattended", "claims"]


@dataclass(frozen=True, slots=True)
class SetupStep:
    """One step: `do` and `expect` are for a person, `drill` names what this program does meanwhile.

    A measured value must lie within low..high (in `unit`). `days` until it must be done again, None: until
    something is changed. `number` is the step's number in the documents.
    """

    name: str
    number: str
    do: str
    expect: str
    blocks: Blocks
    unit: str = ""
    low: float | None = None
    high: float | None = None
    days: int | None = None
    drill: str = ""
    after: tuple[str, ...] = ()

    def accepts(self, value: float | None) -> bool:
        """Return whether a measured value passes; a step without limits takes a person's word."""
        if self.low is None and self.high is None:
            return True
        low, high = self.low if self.low is not None else value, self.high if self.high is not None else value
        return value is not None and low is not None and high is not None and low <= value <= high


STEPS = (
    SetupStep(
        "caution",
        "C00",
        "Read the caution. Confirm: local codes, electrician where required, which machine this is, that it "
        "is dedicated to this use and never for food, its supply, the value set on the independent limit.",
        "all answered",
        "everything",
    ),
    SetupStep(
        "oven file",
        "C01",
        "Read the oven file aloud: machine limit, power, sensor type and unit, isolator. Confirm each.",
        "every value is the machine's; the file's checksum is stored",
        "everything",
    ),
    SetupStep(
        "bus check",
        "C02",
        "Isolate the heater. The program asks who is on the bus, listens for echoes and reads how the board "
        "came up after you switch it off and on.",
        "one device per address, no echo, outputs off after power-up",
        "live heat",
        drill="bus",
    ),
    SetupStep(
        "dead-man test",
        "C03",
        "Heater isolated, or a lamp in its place: the program switches the output on and falls silent. Then "
        "the same with the program killed, and with the data cable pulled.",
        "the output drops by itself within 10 s (read to half a second); the longest time is stored",
        "live heat",
        unit="s",
        low=0.0,
        high=10.5,
        days=90,
        drill="dead_man",
        after=("bus check",),
    ),
    SetupStep(
        "cold check",
        "C05",
        "Cold oven: read a room thermometer beside each sensor, then warm the sensor by hand or in water.",
        "within 3 K of the thermometer, and it moves up when warmed",
        "live heat",
        unit="K",
        low=-3.0,
        high=3.0,
        drill="cold",
    ),
    SetupStep(
        "known temperature",
        "C05b",
        "Hold the tip of the sensor in boiling water for two minutes; give height or air pressure.",
        "within 3 K of the local boiling point: a wrong type of sensor or module shows here, never when cold",
        "unattended",
        unit="K",
        low=-3.0,
        high=3.0,
        days=365,
        drill="reading",
        after=("cold check",),
    ),
    SetupStep(
        "heater pulse",
        "C04",
        "From cold, isolator on again, door shut, you beside the oven: one minute of heat, then two minutes "
        "of looking (up to fifteen where the elements are out of sight). If you have a meter at the plug or "
        "a clamp on the lead, note what it shows.",
        "only its own sensor rises, by 1 to 150 K (learned: by 60 to 140 % of what the model says); the "
        "meter shows the power of the file",
        "live heat",
        unit="K",
        low=1.0,
        high=150.0,
        drill="pulse",
        after=("dead-man test", "cold check"),
    ),
    SetupStep(
        "reference check",
        "C06",
        "Compare with a reference at two temperatures: a reference sensor, ice and boiling water (mind the "
        "altitude), or a metal's melting point. Enter the larger deviation twice.",
        "10 K at most; more means a new sensor",
        "claims",
        unit="K",
        low=-10.0,
        high=10.0,
        days=365,
    ),
    SetupStep(
        "limit test",
        "C07",
        "Set the independent limit to 150 °C and heat until it opens. Then once more with the computer "
        "unplugged. Restore its real setting and note it. If it cannot be set so low, do its maker's test.",
        "its own contactor (or itself, in the element's circuit) opens at 150 °C ± 10, stays open when cold, "
        "resets by hand",
        "unattended",
        unit="°C",
        low=140.0,
        high=160.0,
        days=90,
    ),
    SetupStep(
        "drop test",
        "C09a",
        "Test safety contactor (or independent limit), relay and emergency stop, each on its own, while the "
        "program holds the rest on and a meter hangs on the heater: up to two minutes of heat at a time.",
        "mains voltage while it is held, and none once each of them has opened",
        "live heat",
        days=90,
        after=("dead-man test", "cold check"),
    ),
    SetupStep(
        "earth and insulation",
        "C09b",
        "A competent person measures the earth of shell and door and the insulation of the element: at "
        "installation, after any repair, yearly.",
        "values recorded and within your local rules",
        "live heat",
        days=365,
    ),
    SetupStep(
        "learn",
        "C10",
        "Run `kilnctl tune`: one attended, empty heat-up with pauses and a cool-down, below the ceiling of "
        "the oven file, after the lining maker's first firing.",
        "a model is fitted and stored",
        "unattended",
        after=("limit test", "drop test"),
    ),
    SetupStep(
        "weld drill",
        "C08",
        "Hold the relay closed by its test means, or by a bridge that a qualified person fits and removes "
        "with the isolator locked off. Low temperature. Not needed where a contact at the element is fitted.",
        "the program says that heat comes without demand, the safety contactor opens",
        "unattended",
        drill="weld",
        after=("learn",),
    ),
    SetupStep(
        "door test",
        "C11",
        "At 150 °C open the door.",
        "the power to the element is gone; the screen says so",
        "unattended",
        drill="door",
    ),
    SetupStep(
        "sensor-out drill",
        "C12",
        "At 100 °C unplug the sensor. Then restart the program.",
        "off within two ticks; still latched after the restart",
        "live heat above 260 °C",
        unit="ticks",
        low=0.0,
        high=2.0,
        days=365,
        drill="sensor",
    ),
    SetupStep(
        "overshoot check",
        "C13",
        "Hold 218 °C (tempering oven) or 830 °C (furnace) empty and look at the highest temperature.",
        "at most 3 K over at 218 °C, 5 K at 830 °C",
        "claims",
        unit="K",
        low=-50.0,
        high=5.0,
        after=("learn",),
    ),
    SetupStep(
        "power drill",
        "C14",
        "In a temper switch the computer off, wait ten minutes, switch it on again.",
        "the heat stays off and the program asks; its estimate of the outage is right",
        "unattended",
    ),
    SetupStep(
        "horn and messages",
        "C15",
        "Sound horn and lamp; listen and look from five metres with ear defenders. Send a test message where "
        "messages are set up, and answer it.",
        "heard, seen, answered",
        "unattended",
        days=90,
        drill="horn",
    ),
    SetupStep(
        "uniformity",
        "C16",
        "Loaded, at working temperature: measure five positions.",
        "the band is stored",
        "claims",
        unit="K",
        days=365,
    ),
    SetupStep(
        "first temper",
        "C17",
        "The first live temper with a scrap part, you beside it throughout. Read its record.",
        "the record shows what you saw",
        "unattended",
    ),
    SetupStep(
        "fire equipment",
        "C18",
        "Look at extinguisher, metal lid, smoke and CO alarms, exit and signs.",
        "all there and in date",
        "unattended",
        days=90,
    ),
)
BY_NAME = {step.name: step for step in STEPS}


def expiry_utc(step: SetupStep, now_s: float) -> float | None:
    """Return when a step that passes now must be done again, None for never."""
    return None if step.days is None else now_s + step.days * DAY_S


def find_step(name: str) -> SetupStep:
    """Return a step by name. Raises ConfigError."""
    if name not in BY_NAME:
        import difflib

        near = difflib.get_close_matches(name, BY_NAME, n=3, cutoff=0.4)
        offered = f"there is: {', '.join(near)}; " if near else ""
        raise ConfigError(f'no set-up step "{name}"; {offered}`kilnctl commission OVEN --list` lists all')
    return BY_NAME[name]
