"""The output and sensor board of one oven, its dead-man, its flaws, and the oven behind it.

In process: `read`, `write`, `step`, `truth`, and fast attributes (`count`, `heater`, `contactor`, `share`).
The map of registers stands in simulator/boards/registers.py. A write of "on" while the dead-man has expired
is answered like any other and does nothing.
"""

import random
from collections.abc import Iterable

from simulator.boards import registers
from simulator.boards.faults import NEUTRAL, Fault
from simulator.boards.in_process_line import DamagedAnswer, NoAnswer, WireError, comes_back, flipped, reaches
from simulator.boards.outputs import Outputs
from simulator.boards.reading import Converter
from simulator.boards.registers import COILS, PLANT_MARK, BadValue, NoSuchRegister
from simulator.boards.schedule import Script
from simulator.boards.truth import Truth, truth_of
from simulator.oven.part import Part
from simulator.oven.plant import Plant

__all__ = [
    "COILS",
    "IDENTITY",
    "PLANT_MARK",
    "BadValue",
    "Board",
    "DamagedAnswer",
    "NoAnswer",
    "NoSuchRegister",
    "Truth",
    "WireError",
]

IDENTITY = 4242
CONVERSION_S = 0.5
AGES_S = 3600.0
# A cold part is put in: so long is the door open; a thick one weighs something.
PART_IN_S, PART_KG = 20.0, 1.5
_SENSOR_FIELDS = (
    "sensor", "couple", "unit", "bias_k", "drift_k_per_h", "half_out_min", "slips_min", "gain", "scale",
    "noise_k", "spike_share", "junction_k", "junction_dead", "second_k", "second_open",
)  # fmt: skip
_LINE_FIELDS = (
    "dark", "line", "late_s", "split_s", "damaged", "short", "junk", "swallowed", "flipped", "wrong_address",
    "foreign", "collisions", "module_silent", "door_bounces_s",
)  # fmt: skip


class Board(Outputs):
    """One board and its plant. `boots_on` and `dead_man=False` make it a bad board.

    `limit_c` fits an independent excess-temperature limit with a sensor of its own and manual reset;
    `door_cuts` a door switch in the heater's circuit. `plant` is the board's own oven; `heated` and
    `sensed` are the ovens that its relay and its sensor are wired to, `voice` the board that answers at its
    address, `rival` one more that does: all its own until somebody crosses them. `count` is the process
    reading as a signed count of 0.1 degC, 32767 is open; while the line is `clear` a reader gets just that.
    """

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
        identity: int = IDENTITY,
        timer: bool = False,
    ) -> None:
        super().__init__(
            dead_man=dead_man,
            contactor=contactor,
            follower=follower,
            boots_on=boots_on,
            seed=seed,
            timer=timer,
        )
        self.plant = self.heated = self.sensed = plant
        self.voice: Board = self
        self.rival: Board | None = None
        self.speed = speed
        self.limit_c = limit_c
        self.door_cuts = door_cuts
        self.reply_wait_s = reply_wait_s
        self.identity = identity
        self.at_s = 0.0
        self.share = 0.0
        self.door_open = False
        self.script = Script()
        self._ambient_c = plant.ambient_c
        self._converter = Converter(seed, noise_k, resolution_k, plant.sensor.junction_c)
        self._chance = random.Random(f"line {seed}").random
        self._next_conversion_s = 0.0
        self._converted_s = 0.0
        self._drift_from_s = self._ages_from_s = 0.0
        self._sound = True
        self.count = self._converter.count
        self._line_sound = self.clear = True

    # ---- time ----

    def step(self, dt_s: float) -> None:
        """Let dt_s of simulated time pass, with the faults that begin and end in it."""
        end_s = self.at_s + dt_s
        script = self.script
        while script.next_s < end_s:
            if script.next_s > self.at_s:
                self._pass(script.next_s - self.at_s)
            script.happen()
        if end_s > self.at_s:
            self._pass(end_s - self.at_s)
            self.at_s = end_s

    def _pass(self, dt_s: float) -> None:
        plant = self.heated
        share = self.heat_share(self.at_s, dt_s, self.count * 0.1)
        if self.flaws.ages_to < 1.0:
            self._age()
        if plant.volts <= 0.0 or (self.door_cuts and self.plant.door_open):
            share = 0.0
        if dt_s <= 1.0:
            plant.step(share, dt_s)
        else:
            plant.advance(share, dt_s)
        self.share = share
        at_s = self.at_s = self.at_s + dt_s
        if self.limit_c is not None and self.plant.sensor.junction_c > self.limit_c:
            self.limit_open = True
        if at_s >= self._next_conversion_s:
            self._next_conversion_s = at_s + CONVERSION_S - 1e-9
            self._convert(at_s)

    def _age(self) -> None:
        aged = min((self.at_s - self._ages_from_s) / AGES_S, 1.0)
        self.plant.health = (1.0 - self.flaws.lost_share) * (1.0 - aged * (1.0 - self.flaws.ages_to))

    def _convert(self, at_s: float) -> None:
        true_c = self.sensed.sensor.junction_c
        if self._sound:
            self._converter.convert(true_c)
        else:
            at_h = (at_s - self._drift_from_s) / 3600.0
            dt_s = at_s - self._converted_s
            self._converter.convert_flawed(true_c, self.plant.ambient_c, self.flaws, at_h, dt_s)
        self.count = self._converter.count
        self._converted_s = at_s

    # ---- faults and load ----

    def schedule(self, faults: Iterable[Fault]) -> None:
        """Put faults on the board's own clock."""
        for fault in faults:
            self.script.put(fault.at_s, lambda fault=fault: self.begin(fault))  # type: ignore[misc]
            if fault.for_s != float("inf"):
                self.script.put(fault.at_s + fault.for_s, lambda fault=fault: self.end(fault))  # type: ignore[misc]

    def begin(self, fault: Fault) -> None:
        """Let a fault begin now."""
        for field, value in fault.sets():
            setattr(self.flaws, field, value)
        if fault.name in ("sensor-drift", "sensor-half-out", "sensor-slips"):
            self._drift_from_s = self.at_s
        if fault.name == "element-ages":
            self._ages_from_s = self.at_s
        if fault.name == "cold-part":
            self._put_in(25.0 if fault.value is None else fault.value)
        if fault.name in ("board-reset", "power-cut"):
            self.boot()
        if fault.name == "stray-on":
            self.feed(registers.LONGEST_FEED_S)
            self.heater = self.contactor = True
        self.flawed()

    def _put_in(self, section_mm: float) -> None:
        cold_c = self.plant.ambient_c
        self.load(Part(section_mm=section_mm, mass_kg=PART_KG, at_c=cold_c))
        self.door_open = True
        self.script.put(self.at_s + PART_IN_S, lambda: self.open_door(False))

    def end(self, fault: Fault) -> None:
        """Let a fault end now: its fields become sound again."""
        for field, _ in fault.sets():
            setattr(self.flaws, field, NEUTRAL[field])
        if fault.name == "power-cut":
            self.boot()
        self.flawed()

    def flawed(self) -> None:
        """Carry `flaws`, `door_open` and `voice` into board and plant. Call it after setting them by hand."""
        flaws, plant = self.flaws, self.plant
        plant.health = 1.0 - flaws.lost_share
        plant.volts = 0.0 if flaws.dark else plant.data.supply_v * flaws.volts
        plant.fan = not (flaws.fan_stopped or flaws.dark)
        plant.door_open = flaws.door or self.door_open
        plant.ajar = flaws.ajar
        plant.ambient_c = self._ambient_c + flaws.ambient_k
        self._sound = all(getattr(flaws, f) == NEUTRAL[f] for f in _SENSOR_FIELDS)
        self._line_sound = all(getattr(flaws, f) == NEUTRAL[f] for f in _LINE_FIELDS)
        self.clear = self._line_sound and self.voice is self

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
            return registers.read(self.voice, table, register)
        reaches(self.flaws, writing=False)
        if self.flaws.module_silent and registers.spare(table, register):
            raise NoAnswer("no reply from the second module")
        value = self.get(table, register)
        comes_back(self.flaws, self.reply_wait_s, self._chance)
        return flipped(self.flaws, value, 16 if table in ("input", "holding") else 1, self._chance)

    def write(self, table: str, register: int, value: int) -> None:
        """Write one register over the line. Raises NoSuchRegister, BadValue and WireError."""
        if self._line_sound:
            registers.write(self.voice, table, register, value)
        elif reaches(self.flaws, writing=True):
            self.set(table, register, value)
            comes_back(self.flaws, self.reply_wait_s, self._chance)

    def get(self, table: str, register: int) -> int:
        """Read a register with no line between. Raises NoSuchRegister."""
        return registers.read(self.speaker(), table, register)

    def set(self, table: str, register: int, value: int) -> None:
        """Write a register with no line between. Raises NoSuchRegister and BadValue."""
        registers.write(self.speaker(), table, register, value)

    def speaker(self) -> "Board":
        """Return the board that answers this time; where two share the address, now one, now the other."""
        return self.voice if self.rival is None or self._chance() < 0.5 else self.rival

    @property
    def second(self) -> int:
        """Return the second sensor's reading as a signed count of 0.1 degC."""
        return self._converter.second

    @property
    def counter(self) -> int:
        """Return the conversion counter, 0..65535."""
        return self._converter.counter

    def live(self) -> bool:
        """Return what the heater-live contact says (its own fault included)."""
        if self.flaws.live_wrong:
            return self.flaws.live_wrong == "on"
        return self.share > 0.0

    def truth(self) -> Truth:
        """Return what is really so in the board's own oven."""
        return truth_of(self.plant, self.at_s, self.limit_open)
