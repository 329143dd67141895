"""The oven file: what one oven is, how it is wired, and the limits that nobody may guess.

No safety limit has a default. Values of quantities carry their unit; numbers without a unit are counts,
register numbers and pure factors.
"""

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from kilnctl.errors import ConfigError
from kilnctl.tomlfile import Strict, load
from kilnctl.units import DifferenceK, DurationS, PointC, PowerW, VoltageV

Register = Annotated[int, Field(ge=0, le=65535)]
Positive = Annotated[float, Field(gt=0)]


def wrong(code: str, why: str) -> PydanticCustomError:
    """Return a validation error whose message is exactly `why`."""
    return PydanticCustomError(code, "{why}", {"why": why})


class Port(Strict):
    """A serial port and its settings; `timeout` is the longest wait for a reply, unscaled."""

    path: str
    baud: Annotated[int, Field(ge=300, le=4_000_000)] = 9600
    parity: Literal["none", "even", "odd"] = "none"
    stop_bits: Literal[1, 2] = 1
    timeout_s: DurationS = Field(default=0.2, alias="timeout")


class Place(Strict):
    """Where a value lives in a Modbus device and how its bytes become a number: raw * scale + offset."""

    device: str
    table: Literal["coil", "discrete", "input", "holding"]
    register_no: Register = Field(alias="register")
    format: Literal["bit", "int16", "uint16", "int32", "uint32", "float32"] = "int16"
    word_order: Literal["high first", "low first"] = "high first"
    byte_order: Literal["big", "little"] = "big"
    bit: Annotated[int, Field(ge=0, le=15)] | None = None
    scale: float = 1.0
    offset: float = 0.0

    @property
    def bits_table(self) -> bool:
        """True for the two tables of single bits."""
        return self.table in ("coil", "discrete")

    @property
    def words(self) -> int:
        """Return how many registers (or bits) the value takes."""
        return 2 if not self.bits_table and self.format in ("int32", "uint32", "float32") else 1


class Temperature(Place):
    """A temperature signal. `open_values` are raw counts by which the device says that the sensor is open.

    `low` and `high` bound what the sensor can mean; anything outside is no reading.
    """

    unit: Literal["C", "F"]
    low_c: PointC = Field(alias="low")
    high_c: PointC = Field(alias="high")
    open_values: tuple[int, ...] = ()
    resolution_k: DifferenceK = Field(default=0.1, alias="resolution")
    couple: Literal["K", "N", "S", "R", "B", "J", "E", "T", "other"] = "other"


class Switch(Place):
    """A yes/no input; `inverted` where a 0 on the wire means yes."""

    inverted: bool = False


class Number(Place):
    """Any other analogue input, in the unit that its name says; outside low..high it is no reading."""

    low: float = 0.0
    high: float = 1_000_000.0


class Identity(Place):
    """A register with a known constant, by which the right device is recognised."""

    expect: int


class Device(Strict):
    """One device on a port."""

    kind: Literal["modbus"] = "modbus"
    port: str
    address: Annotated[int, Field(ge=1, le=247)]


class Written(Place):
    """A place that is written. `multiple` uses functions 15 and 16, for devices that lack 5 and 6."""

    multiple: bool = False


class Output(Written):
    """An output: a coil or a register; `on`/`off` are the values written to a register."""

    on: Annotated[int, Field(ge=0, le=65535)] = 1
    off: Annotated[int, Field(ge=0, le=65535)] = 0


class DeadMan(Written):
    """What makes the board drop the heat by itself: `write` goes to the register in every healthy tick.

    `drops_after` is how long the board holds the heat without it (a limit, so no default). Set `zero_drops`
    only where a 0 in this register drops the heat at once: on other boards a 0 switches the dead-man off.
    """

    write: Annotated[int, Field(ge=0, le=65535)]
    drops_after_s: DurationS = Field(alias="drops_after")
    zero_drops: bool = False


class Switching(Strict):
    """How the heater may be switched. Times in seconds of the heat."""

    kind: Literal["solid-state", "contactor"]
    window_s: Annotated[DurationS, Field(gt=0)] = Field(default=10.0, alias="window")
    min_on_s: DurationS = Field(default=1.0, alias="min_on")
    min_off_s: DurationS = Field(default=1.0, alias="min_off")


class Zone(Strict):
    """PID settings up to a temperature: gain in duty (0..1) per kelvin, times in seconds."""

    up_to_c: PointC = Field(alias="up_to")
    duty_per_k: Annotated[float, Field(gt=0, le=1)]
    integral_s: Annotated[DurationS, Field(gt=0)] = Field(alias="integral")
    derivative_s: DurationS = Field(default=0.0, alias="derivative")


class Signals(Strict):
    """Every input that kilnctl can use. Only the process temperature must be there."""

    process: Temperature
    second: Temperature | None = None
    load: Temperature | None = None
    cold_junction: Temperature | None = None
    ambient: Temperature | None = None
    enclosure: Temperature | None = None
    supply_v: Number | None = None
    current_a: Number | None = None
    heater_live: Switch | None = None
    door_open: Switch | None = None
    fan_on: Switch | None = None
    smoke: Switch | None = None
    limit_open: Switch | None = None
    counter: Number | None = None


class Outputs(Strict):
    """Every output. The heater must be there."""

    heater: Output
    contactor: Output | None = None
    horn: Output | None = None
    lamp: Output | None = None


class Oven(Strict):
    """One oven, whole.

    `limit` is the machine's over-temperature limit: heat off and latched above it. `build` describes the
    oven for rehearsals before it has been learned.
    """

    name: str
    simulated: bool = False
    limit_c: PointC = Field(alias="limit")
    power_w: PowerW = Field(alias="power")
    build: Literal["brick", "fibre", "heavy", "leaky", "fan"]
    use: Literal["hardening", "tempering"]
    isolator: str
    phone: str = ""
    supply_v: VoltageV | None = Field(default=None, alias="supply")
    tune_ceiling_c: PointC | None = Field(default=None, alias="tune_ceiling")
    ambient_c: PointC = Field(default=20.0, alias="ambient")
    tick_s: Annotated[DurationS, Field(ge=0.2, le=5)] = Field(default=1.0, alias="tick")
    controller: Literal["model", "pid"] = "model"
    switching: Switching
    zone: tuple[Zone, ...] = ()
    port: dict[str, Port]
    device: dict[str, Device]
    signal: Signals
    output: Outputs
    identity: tuple[Identity, ...] = ()
    dead_man: DeadMan | None = None

    @model_validator(mode="after")
    def _names_exist(self) -> "Oven":
        for name, device in self.device.items():
            if device.port not in self.port:
                raise wrong(
                    "port", f'device "{name}" names port "{device.port}", which the file does not have'
                )
        for place in self.places():
            if place.device not in self.device:
                raise wrong("device", f'"{place.device}" is no device of this file')
        return self

    @model_validator(mode="after")
    def _one_thing_per_address(self) -> "Oven":
        taken: dict[tuple[str, str, int, int | None], str] = {}
        for name, place in self.wired():
            for register_no in range(place.register_no, place.register_no + place.words):
                key = (place.device, place.table, register_no, place.bit)
                if key in taken:
                    at = f"{place.table} {register_no} of {place.device}"
                    raise wrong("shared", f"{taken[key]} and {name} share {at}; one of them is wrong")
                taken[key] = name
        return self

    @model_validator(mode="after")
    def _sensor_sees_the_limit(self) -> "Oven":
        if self.signal.process.high_c <= self.limit_c:
            seen = f"{self.signal.process.high_c:g} C"
            raise wrong("range", f"signal.process.high {seen} must lie above the limit {self.limit_c:g} C")
        return self

    def wired(self) -> list[tuple[str, Place]]:
        """Return name and place of every signal, output and the dead-man."""
        named = [*_named("signal", self.signal), *_named("output", self.output)]
        return named + ([("dead_man", self.dead_man)] if self.dead_man else [])

    def places(self) -> list[Place]:
        """Return every wired value of the file."""
        return [place for _, place in self.wired()] + list(self.identity)


def _named(group: str, values: Strict) -> list[tuple[str, Place]]:
    found = [(f"{group}.{name}", getattr(values, name)) for name in type(values).model_fields]
    return [(name, value) for name, value in found if value is not None]


def load_oven(path: Path) -> Oven:
    """Read an oven file. Raises ConfigError with file, line and key."""
    return load(path, Oven, ConfigError)
