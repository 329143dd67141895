"""How an oven is wired: which value lives at which place of a device, as the oven file says it.

Values of quantities carry their unit; numbers without a unit are counts, register numbers and pure factors.
"""

import math
import struct
from typing import Annotated, Any, ClassVar, Literal, Self

from pydantic import AfterValidator, Field, PlainSerializer, ValidationInfo, field_validator, model_validator

from kilnctl.config.places import FLOATS, Format, Place, Switch
from kilnctl.quantities import DifferenceK, DurationS, PointC, between
from kilnctl.tomlfile import Strict, wrong

HIGHEST_C = 2500.0  # no sensor of such ovens means more


def _plain(number: float) -> float:
    """Return 8.0 as 8: the sheet of a decimal register prints it so."""
    return int(number) if number == int(number) else number


# What is written: whole, but for a register with a decimal point of its own. Dumped as it was read.
_AS_IT_IS = PlainSerializer(lambda number: number)
RawNumber = Annotated[float, Field(ge=-(2**31), le=2**32 - 1), AfterValidator(_plain), _AS_IT_IS]
NeverBelow0 = Annotated[float, Field(ge=0, le=65535), AfterValidator(_plain), _AS_IT_IS]


class Temperature(Place):
    """A temperature signal. `open_values` are raw counts by which the device says that the sensor is open.

    `low` and `high` bound what the sensor can mean; anything outside is no reading. `fault` is a bit by which
    the device says that the sensor is broken. `exponent` is a register that moves the decimal point: the
    value is taken times ten to what it holds. With the unit mV the value is the voltage of a bare `couple`,
    and the signal cold_junction must be there.
    """

    unit: Literal["C", "F", "mV"]
    low_c: PointC = Field(alias="low")
    high_c: PointC = Field(alias="high")
    open_values: tuple[int | float, ...] = ()
    resolution_k: Annotated[DifferenceK, between(1e-6, 20, "0.000001 K and 20 K")] = Field(
        default=0.1, alias="resolution"
    )
    couple: Literal["K", "N", "S", "R", "B", "J", "E", "T", "other"] = "other"
    wire: Literal["class 1", "class 2", "standard", "special"] = "class 2"
    fault: Switch | None = None
    exponent: Place | None = None

    @model_validator(mode="before")
    @classmethod
    def _open_values_as_read(cls, place: Any) -> Any:
        """A table prints 65535 or 8001h where a signed register is read as -1 or -32767."""
        values = place.get("open_values") if isinstance(place, dict) else None
        if not isinstance(values, tuple) or not all(isinstance(value, int | float) for value in values):
            return place
        form = "text" if "field" in place else place.get("format", "int16")
        if not isinstance(form, str):
            return place  # the key itself is refused in its own words
        return {**place, "open_values": tuple(_as_read(value, form) for value in values)}

    @model_validator(mode="after")
    def _low_below_high(self) -> Self:
        if not self.low_c < self.high_c <= HIGHEST_C:
            raise wrong("range", f"write low below high, and high {HIGHEST_C:g} C at most")
        return self

    @property
    def step_k(self) -> float:
        """Return the smallest step that can be seen: the module's, or that of its whole numbers if larger."""
        if self.field or self.unit == "mV" or self.is_float or self.exponent:
            return self.resolution_k
        return max(self.resolution_k, abs(self.scale) / (1.8 if self.unit == "F" else 1.0))


def _as_read(value: float, form: str) -> float:
    """Return how a register of a format shows a number that its table may print with or without a sign."""
    if not math.isfinite(value):
        raise wrong("open", f"open_values: {value:g} is no reading anyway; leave it out")
    bits = {"int16": 16, "uint16": 16, "int32": 32, "uint32": 32}.get(form)
    if bits is None:
        return _nearest_float32(value) if form == "float32" else value
    if value != int(value):
        raise wrong("open", f"open_values: {value:g}: raw numbers of {form} are whole, before the scale")
    value = int(value)
    if not -(2 ** (bits - 1)) <= value < 2**bits:
        raise wrong("open", f"open_values: {value} does not fit {form}; look at format")
    value %= 2**bits
    return value - 2**bits if form.startswith("int") and value >= 2 ** (bits - 1) else value


def _nearest_float32(value: float) -> float:
    try:
        return float(struct.unpack(">f", struct.pack(">f", value))[0])
    except OverflowError:
        raise wrong("open", f"open_values: {value:g} does not fit float32; look at format") from None


class Number(Place):
    """Any other analogue input, in the unit that its name says; outside low..high it is no reading."""

    low: float = 0.0
    high: float = 1_000_000.0

    @model_validator(mode="after")
    def _low_below_high(self) -> Self:
        if not -1e9 <= self.low < self.high <= 1e9:
            raise wrong("range", f"low {self.low:g} must lie below high {self.high:g}, both within 1e9")
        return self


class DeviceIdentity(Place):
    """A register or field with a known constant, by which the right device is recognised."""

    expect: int


class Written(Place):
    """A place that is written. `multiple` uses functions 15 and 16, for devices that lack 5 and 6."""

    feeds: ClassVar[bool] = False
    multiple: bool = False

    @field_validator(
        "on", "off", "reads_on", "reads_off", "write", "then", "counts_to", mode="after", check_fields=False
    )
    @classmethod
    def _decimals_in_decimal_registers(cls, number: float | None, info: ValidationInfo) -> float | None:
        if number is None or isinstance(number, int) or info.data.get("format") in FLOATS:
            return number
        raise wrong("decimals", "must be a whole number; one with decimals needs a format with them, float32")


def _else(given: float | None, usual: float) -> float:
    return usual if given is None else given


def _two(value: Any) -> bool:
    return (
        isinstance(value, tuple)
        and len(value) == 2
        and all(isinstance(one, int) and 0 <= one <= 0xFFFF for one in value)
    )


class Output(Written):
    """An output: the values written to it, and the place `back` where it is read back, if that is another.

    `on` and `off` of two numbers each stand for two registers that are written in one request. `reads_on` and
    `reads_off` are what is read there then, where it is not what was written.
    """

    on: RawNumber = 1
    off: RawNumber = 0
    reads_on: RawNumber | None = None
    reads_off: RawNumber | None = None
    back: Switch | None = None

    @model_validator(mode="before")
    @classmethod
    def _numbers(cls, table: Any) -> Any:
        """Two registers are one number of 32 bits."""
        given = {key: table[key] for key in ("on", "off") if key in table} if isinstance(table, dict) else {}
        if any(isinstance(value, str) for value in given.values()):
            where = 'words = { heater = ["OFF", "ON"] }'
            raise wrong("value", f"on and off are numbers; words belong to a text device: {where}")
        if not any(isinstance(value, tuple) for value in given.values()):
            return table
        if len(given) < 2 or not all(_two(value) for value in given.values()):
            raise wrong("value", "on and off: two numbers each, 0 to 65535, for two registers in one request")
        joined = {key: value[0] << 16 | value[1] for key, value in given.items()}
        return {**table, **joined, "format": "uint32"}

    @model_validator(mode="after")
    def _off_is_not_on(self) -> Self:
        if self.on == self.off:
            raise wrong("off", f"on and off are both {self.on}: it could never be switched off")
        if _else(self.reads_on, self.on) == _else(self.reads_off, self.off):
            raise wrong("off", "on and off read alike: nobody could see that it is off")
        return self


class Heater(Output):
    """The output that heats.

    `switch`: on and off. `pulse`: each write keeps it on for `holds`, which is a dead-man by itself.
    `duty`: `on` is the value for full heat, anything between for less; with `holds` it ends by itself too.
    `set-point`: an instrument that
    regulates by itself; the temperature is written to it, and `park` on every way out; `holds` as for a duty.
    `highest` is the highest set-point that it takes; nothing above it is ever written.
    `step` is the least difference that a duty or set-point takes.
    """

    kind: Literal["switch", "pulse", "duty", "set-point"] = "switch"
    holds_s: Annotated[DurationS, between(0.1, 60, "0.1 s and 60 s")] | None = Field(
        default=None, alias="holds"
    )
    unit: Literal["C", "F"] | None = None
    park_c: Annotated[PointC, between(-40, 40, "-40 C and 40 C")] | None = Field(default=None, alias="park")
    highest_c: Annotated[PointC, between(60, 1800, "60 C and 1800 C")] | None = Field(
        default=None, alias="highest"
    )
    link_loss: Literal["drops", "holds"] | None = None
    step: Annotated[float, Field(gt=0, le=1000)] = 1.0

    @model_validator(mode="after")
    def _keys_of_its_kind(self) -> "Heater":
        if self.holds_s is None and self.kind == "pulse":
            raise wrong("heater", "a heater of kind pulse needs holds, which has no default")
        if self.holds_s is not None and self.kind == "switch":
            raise wrong("heater", "holds is for kind pulse, duty or set-point; a switch with it is a pulse")
        if self.holds_s is not None and self.link_loss == "holds":
            raise wrong(
                "heater", 'link_loss = "drops" goes with holds: it drops when it is not written again'
            )
        if self.highest_c is not None and self.kind != "set-point":
            raise wrong("heater", f"a heater of kind {self.kind}: highest is only for kind set-point")
        needed = {"set-point": ("unit", "park_c", "link_loss")}
        keys = {"park_c": "park"}
        for kind, names in needed.items():
            for name in names:
                given = getattr(self, name) is not None
                if given != (kind == self.kind):
                    need = f"needs {keys.get(name, name)}, which has no default" if not given else ""
                    stray = f"{keys.get(name, name)} is only for kind {kind}"
                    raise wrong("heater", f"a heater of kind {self.kind} {need}" if need else stray)
        return self


class SecondTemperature(Temperature):
    """A second sensor. Beside the first unless `apart` says how far its place lets it read from the first.

    Another place is the limit's own sensor at the hot face, for example. `apart` bounds a fault, so it has no
    default; the machine's limit counts for such a sensor, the plan does not.
    """

    apart_k: Annotated[DifferenceK, between(8, 300, "8 K and 300 K")] | None = Field(
        default=None, alias="apart"
    )


class DeadMan(Written):
    """What makes the board drop the heat by itself: `write` goes to the register in every healthy tick.

    `then` is written in turn with `write`, for a timer relay that is kept up by edges, or a watchdog that
    must change; `shown` says whether the output of the board reads off once it has dropped; `back` is the
    timer's own contact at an input, made while it runs. With
    `counts_to` each number is one higher than the last, from `write` to that and round again.
    `drops_after` is how long the board holds the heat without it (a limit, so no default). Set
    `zero_drops` only where a 0 in this register drops the heat at once: on other boards a 0 switches the
    dead-man off. `stored`: the device keeps the number without power, and reading it feeds too: it is
    written only where it reads otherwise, for its memory wears out.
    """

    feeds: ClassVar[bool] = True
    format: Format = "uint16"  # what is written is never below zero
    write: NeverBelow0
    then: NeverBelow0 | None = None
    counts_to: NeverBelow0 | None = None
    drops_after_s: Annotated[DurationS, between(0.2, 60, "0.2 s and 60 s")] = Field(alias="drops_after")
    zero_drops: bool = False
    shown: bool | None = None
    stored: bool = False
    back: Switch | None = None

    @model_validator(mode="after")
    def _feeding_does_not_drop(self) -> Self:
        if self.zero_drops and self.write == 0:
            raise wrong("write", "write must not be 0 where a 0 drops the heat (zero_drops)")
        if self.then is not None and (self.zero_drops or self.then == self.write):
            raise wrong("write", "then must differ from write, and has no zero_drops: a timer counts edges")
        odd = self.then is not None or self.zero_drops
        if self.counts_to is not None and (odd or self.counts_to <= self.write):
            raise wrong("write", "counts_to must lie above write; it goes with neither then nor zero_drops")
        if self.stored and (self.then is not None or self.counts_to is not None):
            raise wrong("write", "what is stored must not change all the time: take then or counts_to out")
        return self

    def following(self, last: float | None) -> float:
        """Return what is written after `last`; None for the first time."""
        if self.counts_to is not None and last is not None and self.write <= last < self.counts_to:
            return last + 1
        return self.then if self.then is not None and last == self.write else self.write


class Arm(Written):
    """What is written once before the first heat after each off: it arms a watchdog or takes its latch back.

    Never in a heat: a watchdog that has dropped the heat stays so until the next one is begun. `stored`: a
    setting that the device keeps, written only where it reads otherwise: its memory wears out.
    """

    format: Format = "uint16"
    write: NeverBelow0
    stored: bool = False


class Signals(Strict):
    """Every input that kilnctl can use. Only the process temperature must be there."""

    process: Temperature
    second: SecondTemperature | None = None
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

    heater: Heater
    contactor: Output | None = None
    horn: Output | None = None
    lamp: Output | None = None


def wired(signals: Signals, outputs: Outputs, dead_man: DeadMan | None) -> list[tuple[str, Place]]:
    """Return name and place of everything that has a place of its own."""
    found = [*_named("signal", signals), *_named("output", outputs)]
    found += [(f"{name}.fault", p.fault) for name, p in found if isinstance(p, Temperature) and p.fault]
    found += [
        (f"{name}.exponent", p.exponent) for name, p in found if isinstance(p, Temperature) and p.exponent
    ]
    found += [(f"{name}.back", p.back) for name, p in found if isinstance(p, Output) and p.back]
    found += [("dead_man", dead_man)] if dead_man else []
    return found + ([("dead_man.back", dead_man.back)] if dead_man and dead_man.back else [])


def _named(group: str, values: Strict) -> list[tuple[str, Place]]:
    found = [(f"{group}.{name}", getattr(values, name)) for name in type(values).model_fields]
    return [(name, value) for name, value in found if value is not None]
