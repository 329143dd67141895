"""The oven file: what one oven is, how it is wired, and the limits that nobody may guess.

No safety limit has a default.
"""

from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from kilnctl.config import home
from kilnctl.config.device_keys import Device, Port
from kilnctl.config.oven_checks import check_ports, check_wiring, mode_read_back
from kilnctl.config.places import Place, Switch
from kilnctl.config.port_path import is_network
from kilnctl.config.wiring import Arm, DeadMan, DeviceIdentity, Outputs, Signals, Temperature, wired
from kilnctl.errors import ConfigError
from kilnctl.quantities import DurationS, MassKg, PointC, PowerW, VoltageV, between
from kilnctl.tomlfile import Strict, load, wrong

# What hangs beside kilnctl, such as a limiter's or a door switch's own contactor, it cannot know.
NO_CONTACTOR = (
    "kilnctl switches no safety contactor: a welded relay is cut only by what works without it, such as the "
    "independent limit's own contactor, or by hand at the isolator."
)
NO_CONTACTOR_BUT_TIMER = (
    "kilnctl switches no safety contactor: a welded relay is cut by a contactor of its own that "
    "the timer drops, seconds after a trip, if yours is wired so; else only by hand at the isolator."
)
TICKS_OF_A_TIMER = 3  # edges come every second tick, and one of them may be late

__all__ = ["Oven", "Place", "Port", "Switch", "Switching", "Temperature", "Zone", "load_oven", "wrong"]


class Switching(Strict):
    """How the heater may be switched. Times in seconds of the heat."""

    kind: Literal["solid-state", "contactor"]
    window_s: Annotated[DurationS, between(0.2, 600, "0.2 s and 600 s")] = Field(default=10.0, alias="window")
    min_on_s: DurationS = Field(default=1.0, alias="min_on")
    min_off_s: DurationS = Field(default=1.0, alias="min_off")

    @model_validator(mode="after")
    def _fits_the_window(self) -> Self:
        if max(self.min_on_s, self.min_off_s) > self.window_s:
            raise wrong(
                "window", f"min_on and min_off must not be longer than the window ({self.window_s:g} s)"
            )
        return self


class Measured(Strict):
    """What the maker measured of the oven by clock and meter, for plans and rehearsals before it is learned.

    From `heats_from` to `heats_to` at full power it `takes` so long; `holds_with` is the mean power that
    holds `heats_to` once it is soaked through; `lining` the mass of what the wall is made of.
    """

    heats_from_c: Annotated[PointC, between(-40, 200, "-40 C and 200 C")] = Field(
        default=20.0, alias="heats_from"
    )
    heats_to_c: Annotated[PointC, between(60, 1400, "60 C and 1400 C")] | None = Field(
        default=None, alias="heats_to"
    )
    takes_s: Annotated[DurationS, between(60, 48 * 3600, "1 min and 48 h")] | None = Field(
        default=None, alias="takes"
    )
    holds_with_w: PowerW | None = Field(default=None, alias="holds_with")
    lining_kg: Annotated[MassKg, between(0.5, 2000, "0.5 kg and 2000 kg")] | None = Field(
        default=None, alias="lining"
    )

    @model_validator(mode="after")
    def _whole(self) -> Self:
        heat = self.heats_to_c is not None
        told = self.takes_s is not None or self.holds_with_w is not None
        if heat != told or not (heat or self.lining_kg):
            raise wrong(
                "measured", 'write heats_to with takes or holds_with, like "800 C", "70 min", "600 W"'
            )
        if self.heats_to_c is not None and self.heats_to_c < self.heats_from_c + 20.0:
            raise wrong("measured", "heats_to must lie well above heats_from")
        return self


class Zone(Strict):
    """PID settings up to a temperature: gain in duty (0..1) per kelvin, times in seconds."""

    up_to_c: PointC = Field(alias="up_to")
    duty_per_k: Annotated[float, Field(gt=0, le=1)]
    integral_s: Annotated[DurationS, between(0.1, 1e5, "0.1 s and 27 h")] = Field(alias="integral")
    derivative_s: Annotated[DurationS, between(0, 1e4, "0 s and 2 h 46 min")] = Field(
        default=0.0, alias="derivative"
    )


def _plain(name: str) -> str:
    """Refuse a name that cannot name files: the latch and the copy of a running oven carry it."""
    odd = name != name.strip() or name.startswith(".") or "/" in name or not name.isprintable()
    if odd or not 0 < len(name) <= 60:
        raise wrong("name", "a name has 1 to 60 characters, no /, no dot or space first, nothing unprintable")
    return name


def _not_empty(text: str) -> str:
    if not text.strip():
        raise wrong("isolator", "say where the heat is cut by hand; it is shown in an emergency")
    return text


LIMIT_MARGIN_K = 10.0  # a goal stays this far below the limit of its oven


class Oven(Strict):
    """One oven, whole.

    `limit` is the machine's over-temperature limit: heat off and latched above it. `build` describes the
    oven before it has been learned; see `typical`. `elements` says how they sit: "open" in sight of the
    charge, behind a "plate", round a "muffle", "embedded" in the wall, or in the stream of a "fan"; None
    where nobody has said. `overdue` "refuse" starts no heat while a calibration, survey or reminder of the
    oven is overdue.
    """

    name: Annotated[str, AfterValidator(_plain)]
    simulated: bool = False
    limit_c: Annotated[PointC, between(40, 1400, "40 C and 1400 C")] = Field(alias="limit")
    power_w: Annotated[PowerW, between(10, 100_000, "10 W and 100 kW")] = Field(alias="power")
    build: Literal["brick", "fibre", "heavy", "leaky", "fan", "unknown"]
    elements: Literal["open", "plate", "muffle", "embedded", "fan"] | None = None
    use: Literal["hardening", "tempering"]
    isolator: Annotated[str, AfterValidator(_not_empty)]
    phone: str = ""
    supply_v: Annotated[VoltageV, between(10, 1000, "10 V and 1000 V")] | None = Field(
        default=None, alias="supply"
    )
    tune_ceiling_c: PointC | None = Field(default=None, alias="tune_ceiling")
    ambient_c: Annotated[PointC, between(-40, 60, "-40 C and 60 C")] = Field(default=20.0, alias="ambient")
    tick_s: Annotated[DurationS, between(0.2, 5, "0.2 s and 5 s")] = Field(default=1.0, alias="tick")
    controller: Literal["model", "pid"] = "model"
    overdue: Literal["say", "refuse"] = "say"
    switching: Switching
    zone: tuple[Zone, ...] = ()
    measured: Measured | None = None
    port: dict[str, Port]
    device: dict[str, Device]
    signal: Signals
    output: Outputs
    identity: tuple[DeviceIdentity, ...] = ()
    dead_man: DeadMan | None = None
    arm: tuple[Arm, ...] = ()

    @property
    def typical(self) -> str:
        """Return the build that it counts as; an unknown one as that with the shortest first pulse."""
        return "fibre" if self.build == "unknown" else self.build

    @model_validator(mode="after")
    def _wiring(self) -> "Oven":
        check_ports(self.port)
        check_wiring(self.port, self.device, self.signal, self.output, self.dead_man, self.identity, self.arm)
        return self

    @model_validator(mode="after")
    def _sensor_sees_the_limit(self) -> "Oven":
        if self.signal.process.high_c <= self.limit_c:
            seen = f"{self.signal.process.high_c:g} C"
            raise wrong("range", f"signal.process.high {seen} must lie above the limit {self.limit_c:g} C")
        if self.signal.process.low_c > self.ambient_c:
            seen = f"{self.signal.process.low_c:g} C"
            raise wrong("range", f"signal.process.low {seen} must not lie above ambient {self.ambient_c:g} C")
        if self.tune_ceiling_c is not None and not self.ambient_c < self.tune_ceiling_c <= self.limit_c:
            raise wrong("range", f"tune_ceiling must lie between ambient and the limit {self.limit_c:g} C")
        return self

    @model_validator(mode="after")
    def _zones_rise(self) -> Self:
        ends_c = [zone.up_to_c for zone in self.zone]
        if ends_c != sorted(set(ends_c)):
            raise wrong("zone", "up_to of the zones must rise")
        return self

    @model_validator(mode="after")
    def _outlives_a_tick(self) -> Self:
        if self.dead_man is not None and self.dead_man.drops_after_s <= self.tick_s:
            raise wrong("drops", f"dead_man.drops_after must be longer than a tick ({self.tick_s:g} s)")
        timer = self.dead_man if self.dead_man is not None and self.dead_man.then is not None else None
        shortest_s = TICKS_OF_A_TIMER * self.tick_s
        if timer is not None and timer.drops_after_s <= shortest_s:
            said = f"dead_man.drops_after must be longer than {shortest_s:g} s"
            raise wrong("drops", f"{said}: one edge in two ticks")
        if self.dead_man is not None and self.dead_man.back is not None and not self.timer:
            own = "a board's own watchdog shows at its outputs"
            raise wrong("back", f"dead_man.back is the contact of a timer relay behind the board; {own}")
        if self.switching.window_s < self.tick_s:
            raise wrong("window", f"switching.window must not be shorter than a tick ({self.tick_s:g} s)")
        holds_s = self.output.heater.holds_s
        if holds_s is not None and holds_s <= self.tick_s:
            raise wrong("holds", f"output.heater.holds must be longer than a tick ({self.tick_s:g} s)")
        return self

    @property
    def highest_goal_c(self) -> float:
        """The highest that may be asked for: below the limit, and no more than an instrument takes."""
        highest_c = self.limit_c - LIMIT_MARGIN_K
        taken_c = self.output.heater.highest_c
        return highest_c if taken_c is None else min(highest_c, taken_c)

    @property
    def has_dead_man(self) -> bool:
        """True when the heat drops by itself where nobody refreshes it; without it no live heat."""
        heater = self.output.heater
        return self.dead_man is not None or heater.holds_s is not None or heater.link_loss == "drops"

    @property
    def attended_only(self) -> bool:
        """True for an instrument that goes on regulating when the computer is lost: a person must stay."""
        return self.output.heater.link_loss == "holds" and self.dead_man is None

    @property
    def drops_at_the_element(self) -> bool:
        """True where the heat is dropped behind the output's own register, which goes on saying on.

        A timer relay does so, and an instrument that keeps its set-point and cuts its output in a silence.
        """
        seen = bool(self.signal.heater_live or self.signal.current_a)
        return self.output.heater.back is None and (
            self.timer or (seen and self.output.heater.kind == "set-point")
        )

    @property
    def dead_man_seen(self) -> bool:
        """False where only a person's lamp tells whether a timer behind the board has dropped the heat."""
        signal = self.signal
        shown = self.output.heater.back or signal.heater_live or signal.current_a
        return not self.timer or bool(shown) or self.seen_by_timer

    @property
    def seen_by_timer(self) -> bool:
        """True where the timer's own contact shows that it drops, and nothing sees the heat itself."""
        signal, own = self.signal, self.dead_man is not None and self.dead_man.back is not None
        return own and not (self.output.heater.back or signal.heater_live or signal.current_a)

    @property
    def timer(self) -> bool:
        """True for a timer relay behind the board, whose drop the board's own output does not show.

        Where the file does not say: one that is fed by two levels of an output makes edges for a timer; any
        other two numbers switch no contact, and feed a watchdog of the board.
        """
        fed = self.dead_man
        if fed is None or fed.shown is not None:
            return fed is not None and not fed.shown
        outputs = (self.output.heater, self.output.contactor, self.output.horn, self.output.lamp)
        levels = [{one.on, one.off} for one in outputs if one is not None and one.device == fed.device]
        return fed.then is not None and {fed.write, fed.then} in [{0, 1}, *levels]

    @property
    def started_by_feeding(self) -> bool:
        """True where feeding the dead-man is what starts an instrument again after its time-out."""
        return mode_read_back(self.output.heater, self.dead_man) is not None

    @property
    def timers_witness(self) -> str:
        """Return the key of the contact that shows the heat behind a timer, empty where there is none."""
        if not self.timer:
            return ""
        if self.output.heater.back is not None:
            return "output.heater.back"
        return "" if self.signal.heater_live is None else "signal.heater_live"

    @property
    def weaker(self) -> tuple[str, ...]:
        """Return, in sentences, which guarantees this way of wiring does not give."""
        heater = self.output.heater
        said = []
        if heater.kind == "set-point":
            said.append("The instrument decides when the element is on; kilnctl only moves its set-point.")
            said.append("Off means a set-point parked low, not an open relay: fit a contactor that drops.")
        if heater.kind in ("set-point", "duty") and self.signal.process.exponent is not None:
            said.append(
                "The decimal point of the temperature may move, that of the output is fixed here: where one "
                "setting moves both, name its register as an identity, so that a change is refused."
            )
        if self.attended_only:
            said.append("The instrument keeps heating when the computer is lost: attended runs only.")
        if not self.dead_man_seen:
            said.append(
                "Nothing sees the timer relay drop: proved with a lamp at set-up; attended runs only."
            )
        if not self.identity and any(is_network(port.path) for port in self.port.values()):
            said.append("A network address and no identity: another device that gets it goes unnoticed.")
        if self.seen_by_timer:
            said.append(
                "The timer's own contact shows the timer only: what is stuck behind it goes unnoticed."
            )
        if self.output.contactor is None:
            said.append(NO_CONTACTOR_BUT_TIMER if self.timer else NO_CONTACTOR)
            said.append("A relay that is off never isolates, and a solid-state one leaks: keep out.")
        if self.signal.second is None:
            said.append("No second sensor: a sensor that reads low goes unnoticed.")
        elif self.signal.second.apart_k is not None:
            apart = f"{self.signal.second.apart_k:g} K"
            said.append(f"The second sensor sits elsewhere: reading low by less than {apart} goes unnoticed.")
        if self.signal.door_open is None:
            said.append(
                "kilnctl does not see the door: opened in mid-heat it looks like a fallen sensor, and may "
                "stop the heat."
            )
            said.append(
                "kilnctl does not make the elements dead when the door opens, and tongs that touch a "
                "live one can kill: switch off at the isolator first, unless a door switch of the oven's "
                "own opens a contactor in both poles."
            )
        if self.signal.heater_live is None and self.signal.current_a is None:
            said.append("No feedback from the element: a stuck relay is seen late, by temperature only.")
        return tuple(said)

    @property
    def door_isolates(self) -> bool:
        """True where an open door makes the elements dead: by its switch and a contactor that drops."""
        return self.signal.door_open is not None and self.output.contactor is not None

    def wired(self) -> list[tuple[str, Place]]:
        """Return name and place of every signal, output and the dead-man."""
        return wired(self.signal, self.output, self.dead_man)

    def places(self) -> list[Place]:
        """Return every wired value of the file."""
        return [place for _, place in self.wired()] + [*self.identity, *self.arm]


def load_oven(path: Path) -> Oven:
    """Read an oven file. Raises ConfigError with file, line and key."""
    return load(path, Oven, ConfigError)


def find_oven(name: str) -> Oven:
    """Return the oven that a file or a name means. Raises ConfigError, offering the nearest names."""
    return load_oven(home.find(name, "ovens", ConfigError))
