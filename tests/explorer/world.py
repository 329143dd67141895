"""A small world for the explorer: two homes, two ovens, what lies on disk, which processes live.

A state is one tuple; nothing in it is shared or changed. What the explorer knows and no process does (which
start an `off` has barred, which heat really tripped) is kept beside it, to judge by.
"""

from typing import Any, NamedTuple

HOMES = OVENS = (0, 1)
# Stations: a supervisor and its controller. One for each home's heats, one for a drill in the first home.
MAIN, DRILL = (0, 1), 2
DEAD, LIVES, STOPPED, TOLD = range(4)
CLEAR, INTERRUPTED, TRIPPED = range(3)

Slot = tuple[str, int, str]  # kind, number, state: as the protocol's own Slot, but hashable in a state
Latch = tuple[Slot, Slot] | None
Mark = tuple[Any, ...] | None  # ("whole", station, epoch) or ("torn",)


class Station(NamedTuple):
    """A supervisor, its controller, the ovens that the supervisor has read, and which incarnation it is."""

    supervisor: int = DEAD
    controller: int = DEAD
    remembered: frozenset[int] = frozenset()
    epoch: int = 0


class Start(NamedTuple):
    """A run, a resume or a drill, from the command to the last write of its heat."""

    kind: str
    home: int
    oven: int
    stage: str = "new"
    token: tuple[tuple[str, str], ...] = ()
    trip: bool = False
    asked_off: bool = False
    armed: bool = False

    @property
    def station(self) -> int:
        """Return where it heats."""
        return DRILL if self.kind == "drill" else self.home


class Cut(NamedTuple):
    """An `off`: its words, the protocol's own state of it, and the starts that are older than its stamp."""

    home: int
    oven: int | None
    stage: str = "new"
    state: Any = None
    older: frozenset[int] = frozenset()
    to_stamp: tuple[str, ...] = ()
    code: int | None = None

    @property
    def ovens(self) -> tuple[int, ...]:
        """Return the ovens that it must cut."""
        return OVENS if self.oven is None else (self.oven,)


class Reset(NamedTuple):
    """A reset of one oven's latch."""

    home: int
    oven: int
    stage: str = "new"


class World(NamedTuple):
    """Everything. `relay` of an oven: None off, else the number of the start that switched it on."""

    procs: tuple[Any, ...]
    faults: int
    boot: int = 0
    relay: tuple[int | None, ...] = (None, None)
    latch: tuple[Latch, ...] = (None,) * 4
    heated: tuple[bool, ...] = (False,) * 4
    mark: tuple[Mark, ...] = (None,) * 4
    stamps: tuple[tuple[str, int], ...] = ()
    full: tuple[bool, ...] = (False, False)
    out: tuple[bool, ...] = (False, False)  # whose cable is pulled
    stations: tuple[Station, ...] = (Station(), Station(), Station())
    truth: tuple[int, ...] = (CLEAR,) * 4
    barred: frozenset[tuple[int, int]] = frozenset()
    wrong: str = ""


def place(home: int, oven: int) -> int:
    """Return where a thing of one oven in one home stands in the tuples of the world."""
    return 2 * home + oven


def put(values: tuple[Any, ...], at: int, value: Any) -> tuple[Any, ...]:
    """Return a tuple with one value exchanged."""
    return (*values[:at], value, *values[at + 1 :])


def with_proc(world: World, at: int, **changes: Any) -> World:
    """Return the world with one process changed."""
    return world._replace(procs=put(world.procs, at, world.procs[at]._replace(**changes)))


def with_station(world: World, at: int, **changes: Any) -> World:
    """Return the world with one station changed."""
    return world._replace(stations=put(world.stations, at, world.stations[at]._replace(**changes)))


def at_work(world: World, start: Any) -> bool:
    """Return whether a start is in its controller's hands, which lives."""
    handed = start.stage in ("judge", "mark", "arm", "ready", "look", "drive", "cut", "latch", "clear")
    return handed and world.stations[start.station].controller != DEAD


def driver(world: World, oven: int) -> int | None:
    """Return which station holds the device of an oven: one whose controller has a heat of it on."""
    for proc in world.procs:
        holds = isinstance(proc, Start) and proc.oven == oven and proc.stage not in ("new", "asked", "judge")
        if holds and at_work(world, proc):
            return proc.station
    return None


def taken_by(world: World, oven: int) -> str:
    """Return who holds the device's name; empty for nobody."""
    station = driver(world, oven)
    if station is not None:
        return f"station {station}"
    for proc in world.procs:
        if isinstance(proc, Cut) and proc.stage == f"ports {oven}":
            return "an off"
        if isinstance(proc, Reset) and proc.oven == oven and proc.stage == "write":
            return "a reset"
    return ""


def locked(world: World, home: int) -> bool:
    """Return whether a process holds the lock of a home; a controller inherits it."""
    station = world.stations[home]
    return station.supervisor != DEAD or station.controller != DEAD
