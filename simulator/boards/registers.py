"""The board's own map of registers, with no line between.

coil      0 heater, 1 safety contactor (in series), 2 horn, 3 lamp
discrete  0 door open, 1 heater live (real power), 2 fan running, 3 smoke, 4 limit open
input     0 process, 1 second sensor, 2 cold junction, 3 load sensor, 4 ambient, 5 enclosure (int16, 0.1 degC,
          open 32767), 6 supply (0.1 V), 7 heater current (0.01 A), 8 conversion counter
holding   0 dead-man: n feeds it for n seconds (at most 60), 0 drops the heat, reads the seconds left;
          1 duty 0..1000 in a window of 10 s of the board's own; 2 pulse: n * 100 ms of heat;
          3 set-point (0.1 degC) of a board that regulates by itself; 100 identity;
          9000 = 0x5350 "a simulated plant", 9001 its speed
"""

from typing import Protocol

from simulator.boards.fault_state import Flaws
from simulator.boards.follower import Follower
from simulator.boards.reading import OPEN, TERMINAL_RISE_K
from simulator.oven.plant import Plant

COILS = ("heater", "contactor", "horn", "lamp")
PLANT_MARK = 0x5350
LONGEST_FEED_S = 60
ENCLOSURE_RISE_K = 8.0


class NoSuchRegister(LookupError):
    """The board has no such register (Modbus exception 02)."""


class BadValue(ValueError):
    """The register does not take this value (Modbus exception 03)."""


class Panel(Protocol):
    """What the map needs of a board: the oven behind it, its outputs, its flaws and its counts."""

    plant: Plant
    flaws: Flaws
    follower: Follower
    share: float
    fed_s: float
    duty: int
    pulse_s: float
    limit_open: bool
    identity: int
    speed: float
    at_s: float

    @property
    def count(self) -> int:
        """The process reading."""
        ...

    @property
    def second(self) -> int:
        """The second sensor's reading."""
        ...

    @property
    def counter(self) -> int:
        """The conversion counter."""
        ...

    def live(self) -> bool:
        """Return what the heater-live contact says."""
        ...

    def starved(self) -> bool:
        """True while the dead-man bars the heat."""
        ...

    def feed(self, seconds: float) -> None:
        """Let the heat stay on for so long."""
        ...


def read(board: Panel, table: str, register: int) -> int:
    """Return a register, 0..65535 as on the wire. Raises NoSuchRegister."""
    if table == "input":
        return _input(board, register) & 0xFFFF
    if table == "coil" and 0 <= register < len(COILS):
        return int(getattr(board, COILS[register]))
    if table == "discrete":
        return int(_discrete(board, register))
    if table == "holding":
        return _holding(board, register)
    raise NoSuchRegister(f"{table} {register}")


def spare(table: str, register: int) -> bool:
    """Return whether a register lies on a second module: all switches, all sensors but the process one."""
    return table == "discrete" or (table == "input" and register > 0)


def write(board: Panel, table: str, register: int, value: int) -> None:
    """Write a register. Raises NoSuchRegister and BadValue."""
    if table == "coil" and 0 <= register < len(COILS):
        barred = register < 2 and board.starved()
        setattr(board, COILS[register], bool(value) and not barred)
    elif table == "holding" and 0 <= register <= 3:
        _write_holding(board, register, value)
    else:
        raise NoSuchRegister(f"{table} {register}")


def _input(board: Panel, register: int) -> int:
    if register == 0:
        return board.count
    if register == 1:
        return board.second
    if register == 7:
        volts = board.plant.volts
        return round(board.plant.heat_w(board.share) / volts * 100) if volts > 0 else 0
    if register == 8:
        return board.counter
    return _slow_input(board, register)


def _slow_input(board: Panel, register: int) -> int:
    plant, flaws = board.plant, board.flaws
    if register == 2:
        return (
            0 if flaws.junction_dead else round((plant.ambient_c + TERMINAL_RISE_K + flaws.junction_k) * 10)
        )
    if register == 3:
        return OPEN if plant.part is None else round(plant.part.core_c * 10)
    if register == 4:
        return round(plant.ambient_c * 10)
    if register == 5:
        hot_c = flaws.enclosure_c
        return round((plant.ambient_c + ENCLOSURE_RISE_K if hot_c is None else hot_c) * 10)
    if register == 6:
        return round(plant.volts * 10)
    raise NoSuchRegister(f"input {register}")


def _discrete(board: Panel, register: int) -> bool:
    if register == 0:
        every_s = board.flaws.door_bounces_s
        return board.plant.door_open and (not every_s or board.at_s % every_s >= 1.0)
    if register == 1:
        return board.live()
    if register == 2:
        return board.plant.fan
    if register == 3:
        return board.flaws.smoke
    if register == 4:
        return board.limit_open
    raise NoSuchRegister(f"discrete {register}")


def _holding(board: Panel, register: int) -> int:
    if register == 0:
        return int(board.fed_s + 0.999)
    if register == 1:
        return board.duty
    if register == 2:
        return int(board.pulse_s * 10 + 0.999)
    if register == 3:
        return round(board.follower.goal_c * 10) & 0xFFFF
    if register == 100:
        return board.identity if board.flaws.identity is None else board.flaws.identity
    if register == 9000:
        return PLANT_MARK
    if register == 9001:
        return round(board.speed)
    raise NoSuchRegister(f"holding {register}")


def _write_holding(board: Panel, register: int, value: int) -> None:
    if not 0 <= value <= (1000 if register == 1 else 0xFFFF):
        raise BadValue(f"holding {register} does not take {value}")
    if register == 0:
        board.feed(min(value, LONGEST_FEED_S))
    elif board.starved():
        return
    elif register == 1:
        board.duty = value
    elif register == 2:
        board.pulse_s = value * 0.1
    else:
        board.follower.goal_c = value * 0.1
