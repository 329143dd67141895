"""The oven file: what one oven is, how it is wired, and the limits that nobody may guess.

No safety limit has a default.
"""

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, model_validator

from kilnctl.config.checks import check_wiring
from kilnctl.config.wiring import (
    DeadMan,
    Device,
    Identity,
    Outputs,
    Place,
    Port,
    Signals,
    Switch,
    Temperature,
    wired,
    wrong,
)
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import Strict, load
from kilnctl.units import DurationS, PointC, PowerW, VoltageV

__all__ = ["Oven", "Place", "Port", "Switch", "Switching", "Temperature", "Zone", "load_oven", "wrong"]


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
    def _wiring(self) -> "Oven":
        check_wiring(self.port, self.device, self.signal, self.output, self.dead_man, self.identity)
        return self

    @model_validator(mode="after")
    def _sensor_sees_the_limit(self) -> "Oven":
        if self.signal.process.high_c <= self.limit_c:
            seen = f"{self.signal.process.high_c:g} C"
            raise wrong("range", f"signal.process.high {seen} must lie above the limit {self.limit_c:g} C")
        park_c = self.output.heater.park_c
        if park_c is not None and park_c > PARK_AT_MOST_C:
            raise wrong("park", f"output.heater.park must not lie above {PARK_AT_MOST_C:g} C")
        return self

    @model_validator(mode="after")
    def _pulse_outlives_a_tick(self) -> "Oven":
        holds_s = self.output.heater.holds_s
        if holds_s is not None and holds_s <= self.tick_s:
            raise wrong("holds", f"output.heater.holds must be longer than a tick ({self.tick_s:g} s)")
        return self

    @property
    def has_dead_man(self) -> bool:
        """True when the heat drops by itself where nobody refreshes it; without it no live heat."""
        heater = self.output.heater
        return self.dead_man is not None or heater.kind == "pulse" or heater.link_loss == "drops"

    @property
    def attended_only(self) -> bool:
        """True for an instrument that goes on regulating when the computer is lost: a person must stay."""
        return self.output.heater.link_loss == "holds" and self.dead_man is None

    @property
    def weaker(self) -> tuple[str, ...]:
        """Return, in sentences, which guarantees this way of wiring does not give."""
        heater = self.output.heater
        said = []
        if heater.kind == "set-point":
            said.append("The instrument decides when the element is on; kilnctl only moves its set-point.")
            said.append("Off means a set-point parked low, not an open relay: fit a contactor that drops.")
        if self.attended_only:
            said.append("The instrument keeps heating when the computer is lost: attended runs only.")
        if self.output.contactor is None:
            said.append("No safety contactor: a welded relay can only be cut by hand at the isolator.")
        if self.signal.second is None:
            said.append("No second sensor: a sensor that reads low cannot be seen.")
        if self.signal.heater_live is None and self.signal.current_a is None:
            said.append("No feedback from the element: a stuck relay is seen late, by temperature only.")
        return tuple(said)

    def wired(self) -> list[tuple[str, Place]]:
        """Return name and place of every signal, output and the dead-man."""
        return wired(self.signal, self.output, self.dead_man)

    def places(self) -> list[Place]:
        """Return every wired value of the file."""
        return [place for _, place in self.wired()] + list(self.identity)


PARK_AT_MOST_C = 40.0


def load_oven(path: Path) -> Oven:
    """Read an oven file. Raises ConfigError with file, line and key."""
    return load(path, Oven, ConfigError)
