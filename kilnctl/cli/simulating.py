"""`kilnctl simulate`: a virtual oven on a pseudo-terminal, real bytes, wired as the oven file says."""

import signal
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from kilnctl.config.home import find
from kilnctl.config.oven import Oven, Place, Switch, Temperature, load_oven
from kilnctl.errors import ConfigError
from simulator import ovens
from simulator.board import Board
from simulator.faults import Fault, parse_fault
from simulator.plant import Plant
from simulator.slave import serve
from simulator.wiring import Wire, WiredUnit

FASTEST = 1000.0
BUNDLED = {"hardening-furnace": ovens.hardening_furnace, "tempering-oven": ovens.tempering_oven}


def simulate(
    oven: str,
    *,
    link: Path,
    speed: float = 1.0,
    fault: Annotated[list[str] | None, Parameter(negative=())] = None,
    seed: int = 0,
) -> int:
    """Run a virtual oven until Ctrl-C.

    Parameters
    ----------
    oven
        Oven file or name; its wiring is honoured.
    link
        Path that will point to the pseudo-terminal.
    speed
        Simulated seconds in one real second.
    fault
        What goes wrong: NAME@TIME[:VALUE][~DURATION], as often as wanted.
    seed
        Draws the noise; the same seed gives the same noise.
    """
    running = start(oven, link=link, speed=speed, fault=fault or [], seed=seed)
    for name in (signal.SIGINT, signal.SIGTERM):
        signal.signal(name, lambda *_: running.stop.set())
    print(f"simulated plant {running.name} on {link}, {speed:g} times real time; Ctrl-C ends it", flush=True)
    running.wait()
    return 0


@dataclass(frozen=True, slots=True)
class Running:
    """A simulator at work in a thread of this process."""

    name: str
    board: Board
    stop: threading.Event
    thread: threading.Thread
    failure: list[OSError]

    def wait(self) -> None:
        """Return when it has ended. Raises ConfigError when the link could not be made."""
        while self.thread.is_alive():
            self.thread.join(0.2)
        if self.failure:
            raise ConfigError(f"cannot make the link: {self.failure[0]}")

    def close(self) -> None:
        """End it, as a pulled plug does."""
        self.stop.set()
        self.wait()


def start(
    oven: str | Oven, *, link: Path, speed: float = 1.0, fault: Sequence[str] = (), seed: int = 0
) -> Running:
    """Start the simulator of an oven in a thread and return when the line is there.

    Raises ConfigError for a bad oven file, speed or fault, or when the link cannot be made.
    """
    if not (1.0 <= speed <= FASTEST and speed == int(speed)):
        raise ConfigError(f"speed {speed:g}: give a whole number from 1 to {FASTEST:g}")
    data = oven if isinstance(oven, Oven) else load_oven(find(oven, "ovens", ConfigError))
    board = _board(data, seed)
    board.schedule(_faults(fault))
    units = _units(data, board)
    stop, ready, failure = threading.Event(), threading.Event(), list[OSError]()

    def work() -> None:
        try:
            serve(dict.fromkeys(units, board), link, speed, stop, units=units, ready=ready)
        except OSError as e:
            failure.append(e)
        finally:
            ready.set()

    thread = threading.Thread(target=work, name=f"simulator {data.name}", daemon=True)
    running = Running(data.name, board, stop, thread, failure)
    thread.start()
    ready.wait()
    if failure:
        running.wait()
    return running


def _faults(texts: Sequence[str]) -> list[Fault]:
    try:
        return [parse_fault(text) for text in texts]
    except ValueError as e:
        raise ConfigError(str(e)) from None


def plant_of(oven: Oven) -> Plant:
    """Return the plant that stands for an oven file: its own for a bundled name, else one of its build."""
    if oven.name in BUNDLED:
        return BUNDLED[oven.name]()
    return ovens.oven_like(oven.build, oven.power_w, oven.supply_v or 230.0, oven.ambient_c)


def _board(oven: Oven, seed: int) -> Board:
    return Board(
        plant_of(oven),
        seed=seed,
        dead_man=oven.dead_man is not None,
        contactor=oven.output.contactor is not None,
        resolution_k=oven.signal.process.resolution_k,
    )


def _units(oven: Oven, board: Board) -> dict[int, WiredUnit]:
    """Return what answers under each unit address of the file."""
    if len({device.port for device in oven.device.values()}) > 1:
        raise ConfigError(f"{oven.name}: the simulator has one line; put every device on one port")
    wires = _wires(oven)
    units: dict[int, list[Wire]] = {}
    for name, device in oven.device.items():
        units.setdefault(device.address, []).extend(wire for place, wire in wires if place.device == name)
    return {address: WiredUnit(board, mine) for address, mine in units.items()}


def _wires(oven: Oven) -> list[tuple[Place, Wire]]:
    groups = (oven.signal, oven.output)
    named = [(field, getattr(group, field)) for group in groups for field in type(group).model_fields]
    wires = [(place, _wire(field, place)) for field, place in named if place is not None]
    for mark in oven.identity:
        wires.append((mark, _wire("constant", mark, on=mark.expect)))
    if oven.dead_man:
        feed = oven.dead_man
        wires.append((feed, _wire("dead_man", feed, on=feed.write, holds_s=feed.drops_after_s)))
    return wires


def _wire(signal_name: str, place: Place, *, on: int = 1, holds_s: float = 10.0) -> Wire:
    opens = place.open_values if isinstance(place, Temperature) else ()
    return Wire(
        signal=signal_name,
        table=place.table,
        register=place.register_no,
        format=place.format,
        low_word_first=place.word_order == "low first",
        low_byte_first=place.byte_order == "little",
        bit=place.bit,
        scale=place.scale,
        offset=place.offset,
        fahrenheit=isinstance(place, Temperature) and place.unit == "F",
        open_value=opens[0] if opens else None,
        inverted=isinstance(place, Switch) and place.inverted,
        on=getattr(place, "on", on),
        off=getattr(place, "off", 0),
        holds_s=holds_s,
    )
