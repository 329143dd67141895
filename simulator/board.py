"""The output and sensor board of one oven: coils, inputs, registers, dead-man, and the oven behind it.

In process: `read`, `write`, `step`, `truth`, and fast attributes (`count`, `heater`, `contactor`, `live`).
Registers, default map:
  coil      0 heater, 1 safety contactor (in series), 2 horn, 3 lamp
  discrete  0 door open, 1 heater live (real power), 2 fan running, 3 smoke, 4 limit open
  input     0 process, 1 second sensor, 2 cold junction, 3 load sensor, 4 ambient, 5 enclosure (int16,
            0.1 degC, open 32767), 6 supply (0.1 V), 7 heater current (0.01 A), 8 conversion counter
  holding   0 dead-man: n feeds it for n seconds (at most 60), reads the seconds left; 1 duty 0..1000, a
            window of 10 s of the board's own; 2 pulse: n * 100 ms of heat; 100 identity 4242;
            9000 = 0x5350 "a simulated plant", 9001 its speed
Heat flows when relay, contactor and limit are all closed. While the dead-man has expired the coils of
heater and contactor stay off: a write of "on" is answered like any other and does nothing.
"""

import heapq
import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from simulator.faults import NEUTRAL, Fault
from simulator.flaws import Flaws
from simulator.follower import Follower
from simulator.part import Part
from simulator.plant import Plant
from simulator.reading import OPEN, TERMINAL_RISE_K, Converter

IDENTITY = 4242
PLANT_MARK = 0x5350
LONGEST_FEED_S = 60
DUTY_WINDOW_S = 10.0
CONVERSION_S = 0.5
ENCLOSURE_RISE_K = 8.0
COILS = ("heater", "contactor", "horn", "lamp")


class NoSuchRegister(LookupError):
    """The board has no such register (Modbus exception 02)."""


class BadValue(ValueError):
    """The register does not take this value (Modbus exception 03)."""


class WireError(Exception):
    """In process only: the exchange failed on the line."""


class NoAnswer(WireError):
    """Nothing came back in time; the command may have been obeyed all the same."""


class DamagedAnswer(WireError):
    """What came back was damaged, short, an echo, or from another address."""


@dataclass(frozen=True, slots=True)
class Truth:
    """What is really so, for a judge. `place_c` is what a faultless sensor in its place shows.

    `heater_contact` is True while heat really flows; temperatures in degC, None without a part.
    """

    at_s: float
    element_c: float
    chamber_c: float
    place_c: float
    wall_c: float
    part_surface_c: float | None
    part_core_c: float | None
    heat_w: float
    energy_j: float
    heater_contact: bool
    limit_open: bool
    peak_element_c: float
    peak_chamber_c: float
    peak_place_c: float
    peak_part_c: float | None


class Board:
    """One board and its plant. `boots_on` and `dead_man=False` make it a bad board."""

    def __init__(
        self,
        plant: Plant,
        *,
        seed: int = 0,
        speed: float = 1.0,
        dead_man: bool = True,
        boots_on: bool = False,
        contactor: bool = True,
        limit_c: float | None = None,
        door_cuts: bool = False,
        noise_k: float = 0.2,
        resolution_k: float = 0.1,
        reply_wait_s: float = 0.2,
        follower: bool = False,
    ) -> None:
        self.plant = plant
        self.speed = speed
        self.has_dead_man = dead_man
        self.boots_on = boots_on
        self.has_contactor = contactor
        self.limit_c = limit_c
        self.door_cuts = door_cuts
        self.reply_wait_s = reply_wait_s
        self.flaws = Flaws()
        self.follower = Follower()
        self.follows = follower
        self.boots = 0
        self.at_s = 0.0
        self.limit_open = False
        self.door_open = False
        self.seed = seed
        self._ambient_c = plant.ambient_c
        self._converter = Converter(seed, noise_k, resolution_k, plant.sensor.junction_c)
        self._draw = random.Random(f"line {seed}")
        self._events: list[tuple[float, int, Callable[[], None]]] = []
        self._order = 0
        self._next_event_s = float("inf")
        self._next_conversion_s = 0.0
        self._converted_s = 0.0
        self._changed_s = 0.0
        self._sound = True
        self._line_sound = True
        self.boot()

    def off(self) -> None:
        """Drop heater and contactor, end pulse and duty, park the set-point."""
        self.heater = self.contactor = False
        self.duty = 0
        self.pulse_s = 0.0
        self.follower.park()

    def boot(self) -> None:
        """Start as after power-up: heat off (unless `boots_on`), dead-man expired."""
        self.off()
        self.boots += 1
        self.relay_closed = False
        self.horn = self.lamp = False
        self.fed_s = 0.0
        self.live = False
        self.share = 0.0
        if self.boots_on:
            self.heater = self.contactor = True

    # ---- time ----

    def step(self, dt_s: float) -> None:
        """Let dt_s of simulated time pass, with the faults that begin and end in it."""
        end_s = self.at_s + dt_s
        while self._next_event_s < end_s:
            before_s = self._next_event_s - self.at_s
            if before_s > 0.0:
                self._pass(before_s)
            heapq.heappop(self._events)[2]()
            self._next_event_s = self._events[0][0] if self._events else float("inf")
        if end_s > self.at_s:
            self._pass(end_s - self.at_s)
            self.at_s = end_s

    def _pass(self, dt_s: float) -> None:
        plant = self.plant
        share = self._share(dt_s)
        if dt_s <= 1.0:
            plant.step(share, dt_s)
        else:
            plant.advance(share, dt_s)
        self.share = share
        at_s = self.at_s = self.at_s + dt_s
        if self.limit_c is not None and plant.sensor.junction_c > self.limit_c:
            self.limit_open = True
        if at_s >= self._next_conversion_s:
            self._next_conversion_s = at_s + CONVERSION_S - 1e-9
            self._convert(at_s)

    def _share(self, dt_s: float) -> float:
        """Return the share of full heat in the next dt_s; run dead-man, pulse and duty down."""
        asked = self._asked(dt_s)
        if self.has_dead_man:
            asked *= self._dead_man(dt_s)
        if self.flaws.relay or self.flaws.chatter:
            asked = self._bad_relay(asked)
        self.relay_closed = asked > 0.0
        closed = self.contactor_closed()
        cut = (self.limit_open and not self.flaws.limit_bridged) or (self.door_cuts and self.plant.door_open)
        return asked if closed and not cut and self.plant.volts > 0.0 else 0.0

    def contactor_closed(self) -> bool:
        """Return what the contactor really does; a board without one has a plain wire there."""
        if self.flaws.contactor:
            return self.flaws.contactor == "welded"
        return self.contactor if self.has_contactor else True

    def starved(self) -> bool:
        """True while the dead-man bars the heat."""
        return self.has_dead_man and self.fed_s <= 0.0 and not self.flaws.dead_man_stuck

    def _asked(self, dt_s: float) -> float:
        asked = 1.0 if self.heater else 0.0
        if self.follows:
            asked = self.follower.duty(self._converter.count * 0.1, dt_s)
        if self.duty:
            on_s = self.duty * DUTY_WINDOW_S / 1000.0
            into_s = self.at_s % DUTY_WINDOW_S
            whole, rest = divmod(into_s + dt_s, DUTY_WINDOW_S)
            asked = max(asked, (whole * on_s + min(rest, on_s) - min(into_s, on_s)) / dt_s)
        if self.pulse_s > 0.0:
            asked = max(asked, min(self.pulse_s / dt_s, 1.0))
            self.pulse_s = max(0.0, self.pulse_s - dt_s)
        return asked

    def _dead_man(self, dt_s: float) -> float:
        """Return the share of dt_s that the dead-man still allows."""
        if self.fed_s > dt_s + 1e-9:
            self.fed_s -= dt_s
            return 1.0
        if self.flaws.dead_man_stuck:
            return 1.0
        allowed_s = min(self.fed_s, dt_s)
        self.fed_s = 0.0
        self.off()
        return allowed_s / dt_s

    def _bad_relay(self, asked: float) -> float:
        relay = self.flaws.relay
        if relay == "welded":
            return 1.0
        if relay == "open":
            return 0.0
        if relay == "half-wave":
            return max(asked, 0.5)
        return asked * self._draw.random()

    def _convert(self, at_s: float) -> None:
        true_c = self.plant.sensor.junction_c
        if self._sound:
            self._converter.convert(true_c)
        else:
            at_h = (at_s - self._changed_s) / 3600.0
            dt_s = at_s - self._converted_s
            self._converter.convert_flawed(true_c, self.plant.ambient_c, self.flaws, at_h, dt_s)
        self._converted_s = at_s

    # ---- faults and load ----

    def schedule(self, faults: Iterable[Fault]) -> None:
        """Put faults on the board's own clock."""
        for fault in faults:
            self._at(fault.at_s, lambda fault=fault: self.begin(fault))  # type: ignore[misc]
            if fault.for_s != float("inf"):
                self._at(fault.at_s + fault.for_s, lambda fault=fault: self.end(fault))  # type: ignore[misc]

    def _at(self, at_s: float, act: Callable[[], None]) -> None:
        self._order += 1
        heapq.heappush(self._events, (at_s, self._order, act))
        self._next_event_s = self._events[0][0]

    def begin(self, fault: Fault) -> None:
        """Let a fault begin now."""
        if fault.name == "board-reset":
            self.boot()
        for field, value in fault.sets():
            setattr(self.flaws, field, value)
        if fault.name == "power-cut":
            self.boot()
        self.flawed()

    def end(self, fault: Fault) -> None:
        """Let a fault end now: its fields become sound again."""
        for field, _ in fault.sets():
            setattr(self.flaws, field, NEUTRAL[field])
        if fault.name == "power-cut":
            self.boot()
        self.flawed()

    def flawed(self) -> None:
        """Carry `flaws` and `door_open` into the plant. Call it after setting them by hand."""
        flaws, plant = self.flaws, self.plant
        plant.health = 1.0 - flaws.lost_share
        plant.volts = 0.0 if flaws.dark else plant.data.supply_v * flaws.volts
        plant.fan = not (flaws.fan_stopped or flaws.dark)
        plant.door_open = flaws.door or self.door_open
        plant.ambient_c = self._ambient_c + flaws.ambient_k
        self._changed_s = self.at_s
        self._sound = all(getattr(flaws, f) == NEUTRAL[f] for f in _SENSOR_FIELDS)
        self._line_sound = all(getattr(flaws, f) == NEUTRAL[f] for f in _LINE_FIELDS)

    def open_door(self, is_open: bool) -> None:
        """Open or shut the door, as an operator does."""
        self.door_open = is_open
        self.flawed()

    def load(self, part: Part | None) -> None:
        """Put a part into the chamber, or take it out."""
        self.plant.part = part

    def reset_limit(self) -> None:
        """Reset the independent limit by hand."""
        self.limit_open = False

    # ---- what the line sees ----

    def read(self, table: str, register: int) -> int:
        """Read one register over the line, 0..65535 as on the wire. Raises NoSuchRegister and WireError."""
        if self._line_sound:
            return self.get(table, register)
        self._line(writing=False)
        value = self.get(table, register)
        self._reply()
        return value

    def write(self, table: str, register: int, value: int) -> None:
        """Write one register over the line. Raises NoSuchRegister, BadValue and WireError."""
        if self._line_sound:
            self.set(table, register, value)
            return
        if self._line(writing=True):
            self.set(table, register, value)
            self._reply()

    def _line(self, writing: bool) -> bool:
        """Return True when a request reaches the board."""
        if self.flaws.dark or self.flaws.line == "silent":
            raise NoAnswer("no reply")
        if self.flaws.line == "echoed" and not writing:
            raise DamagedAnswer("an echo of the request")
        return self.flaws.line != "echoed"

    def _reply(self) -> None:
        flaws, chance = self.flaws, self._draw.random
        if flaws.late_s > self.reply_wait_s or chance() < flaws.swallowed:
            raise NoAnswer("no reply in time")
        if flaws.wrong_address or any(chance() < share for share in (flaws.damaged, flaws.short, flaws.junk)):
            raise DamagedAnswer("a damaged reply")

    # ---- the board's own registers ----

    @property
    def count(self) -> int:
        """Return the process reading as a signed count of 0.1 degC; 32767 is open."""
        return self._converter.count

    @property
    def counter(self) -> int:
        """Return the conversion counter, 0..65535."""
        return self._converter.counter

    def heat_flows(self) -> bool:
        """Return True when the heater-live contact says so (its own fault included)."""
        if self.flaws.live_wrong:
            return self.flaws.live_wrong == "on"
        return self.share > 0.0

    def get(self, table: str, register: int) -> int:
        """Read a register with no line between. Raises NoSuchRegister."""
        if table == "input":
            return self._input(register) & 0xFFFF
        if table == "coil" and 0 <= register < len(COILS):
            return int(getattr(self, COILS[register]))
        if table == "discrete":
            return int(self._discrete(register))
        if table == "holding":
            return self._holding(register)
        raise NoSuchRegister(f"{table} {register}")

    def _input(self, register: int) -> int:
        plant, flaws = self.plant, self.flaws
        if register == 0:
            return self._converter.count
        if register == 1:
            return self._converter.second
        if register == 2:
            terminal_c = plant.ambient_c + TERMINAL_RISE_K + flaws.junction_k
            return 0 if flaws.junction_dead else round(terminal_c * 10)
        if register == 3:
            return OPEN if plant.part is None else round(plant.part.core_c * 10)
        if register == 4:
            return round(plant.ambient_c * 10)
        if register == 5:
            hot_c = flaws.enclosure_c
            return round((plant.ambient_c + ENCLOSURE_RISE_K if hot_c is None else hot_c) * 10)
        if register == 6:
            return round(plant.volts * 10)
        if register == 7:
            return round(plant.heat_w(self.share) / plant.volts * 100) if plant.volts > 0 else 0
        if register == 8:
            return self._converter.counter
        raise NoSuchRegister(f"input {register}")

    def _discrete(self, register: int) -> bool:
        if register == 0:
            return self.plant.door_open
        if register == 1:
            return self.heat_flows()
        if register == 2:
            return self.plant.fan
        if register == 3:
            return self.flaws.smoke
        if register == 4:
            return self.limit_open
        raise NoSuchRegister(f"discrete {register}")

    def _holding(self, register: int) -> int:
        if register == 0:
            return int(self.fed_s + 0.999)
        if register == 1:
            return self.duty
        if register == 2:
            return int(self.pulse_s * 10 + 0.999)
        if register == 100:
            return IDENTITY if self.flaws.identity is None else self.flaws.identity
        if register == 9000:
            return PLANT_MARK
        if register == 9001:
            return round(self.speed)
        raise NoSuchRegister(f"holding {register}")

    def set(self, table: str, register: int, value: int) -> None:
        """Write a register with no line between. Raises NoSuchRegister and BadValue."""
        if table == "coil" and 0 <= register < len(COILS):
            heats = register < 2
            setattr(self, COILS[register], bool(value) and not (heats and self.starved()))
        elif table == "holding" and register in (0, 1, 2):
            self._set_holding(register, value)
        else:
            raise NoSuchRegister(f"{table} {register}")

    def _set_holding(self, register: int, value: int) -> None:
        if not 0 <= value <= (1000 if register == 1 else 0xFFFF):
            raise BadValue(f"holding {register} does not take {value}")
        if register == 0:
            self.fed_s = float(min(value, LONGEST_FEED_S))
            if value == 0 and self.has_dead_man:
                self.off()
        elif not self.starved():
            if register == 1:
                self.duty = value
            else:
                self.pulse_s = value * 0.1

    def truth(self) -> Truth:
        """Return what is really so."""
        plant, part = self.plant, self.plant.part
        return Truth(
            at_s=self.at_s,
            element_c=plant.element_c,
            chamber_c=plant.air_c,
            place_c=plant.sensor.junction_c,
            wall_c=plant.wall.face_c,
            part_surface_c=part.surface_c if part else None,
            part_core_c=part.core_c if part else None,
            heat_w=plant.heat_w(self.share),
            energy_j=plant.energy_j,
            heater_contact=self.share > 0.0,
            limit_open=self.limit_open,
            peak_element_c=plant.peak_element_c,
            peak_chamber_c=plant.peak_air_c,
            peak_place_c=plant.peak_place_c,
            peak_part_c=plant.peak_part_c if plant.peak_part_c > float("-inf") else None,
        )


_SENSOR_FIELDS = (
    "sensor", "couple", "unit", "bias_k", "drift_k_per_h", "gain", "scale", "noise_k", "spike_share",
    "junction_k", "junction_dead", "second_k", "second_open",
)  # fmt: skip
_LINE_FIELDS = (
    "dark", "line", "late_s", "damaged", "short", "junk", "swallowed", "wrong_address",
)  # fmt: skip
