"""Breadth first through all that may happen: steps of every process, kills, stops, torn and lost files.

From the folder of the tests: `python -m explorer.explore [--faults 2]` walks the whole and tells how much it
was.
"""

import argparse
import itertools
import sys
import time
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from explorer import stamps, steps
from explorer.world import (
    CLEAR,
    DEAD,
    HOMES,
    INTERRUPTED,
    LIVES,
    OVENS,
    STOPPED,
    Cut,
    Reset,
    Start,
    Station,
    World,
    at_work,
    place,
    put,
    with_proc,
    with_station,
)

RUN_A, RUN_B, RUN_A_TWO = Start("run", 0, 0), Start("run", 0, 1), Start("run", 1, 0)
DRILL_A, RESUME_A, RESET_A = Start("drill", 0, 0), Start("resume", 0, 0), Reset(0, 0)
OFF, OFF_TWO, OFF_A, OFF_B = Cut(0, None), Cut(1, None), Cut(0, 0), Cut(0, 1)
HEATS = (RUN_A, RUN_A_TWO, DRILL_A, RESUME_A)
COMMANDS = (*HEATS, RUN_B, RESET_A, OFF, OFF_TWO, OFF_A, OFF_B)


class Found(NamedTuple):
    """What a walk came to: states, steps of the longest shortest way, and the way to what is wrong."""

    states: int
    depth: int
    whole: bool
    wrong: str = ""
    way: tuple[str, ...] = ()


def next_steps(world: World) -> Iterator[steps.Step]:
    """Yield everything that may happen next."""
    for at, proc in enumerate(world.procs):
        who = f"{type(proc).__name__.lower()} {at}"
        if isinstance(proc, Start):
            found: Iterable[steps.Step] = steps.start_steps(world, at, proc)
        elif isinstance(proc, Cut):
            found = steps.cut_steps(world, at, proc)
        else:
            found = steps.reset_steps(world, at, proc)
        for what, after in found:
            yield f"{who} {what}", after
    for number, station in enumerate(world.stations):
        for what, after in steps.station_steps(world, number, station):
            yield f"station {number}: {what}", after
        yield from _continued(world, number, station)
    yield from _plugged(world)
    if world.faults:
        yield from _faults(world._replace(faults=world.faults - 1))


def _continued(world: World, number: int, station: Station) -> Iterator[steps.Step]:
    if station.controller == STOPPED:
        yield f"CONT controller {number}", with_station(world, number, controller=LIVES)
    if station.supervisor == STOPPED:
        yield f"CONT supervisor {number}", with_station(world, number, supervisor=LIVES)


def _plugged(world: World) -> Iterator[steps.Step]:
    for oven in OVENS:
        if world.out[oven]:
            yield f"the cable of oven {oven} is back", world._replace(out=put(world.out, oven, False))


def _faults(world: World) -> Iterator[steps.Step]:
    for number, station in enumerate(world.stations):
        yield from _signals(world, number, station)
    for at, proc in enumerate(world.procs):
        if not isinstance(proc, Start) and proc.stage not in ("new", "done", "dead"):
            yield f"kill process {at}", with_proc(world, at, stage="dead")
        if isinstance(proc, Start) and proc.stage == "asked":
            yield f"kill process {at}", with_proc(world, at, stage="dead")
    for path, _ in world.stamps:
        yield f"remove {path}", stamps.gone(world, path)
        yield f"tear {path}", stamps.left(world, path)
    yield from _files(world)
    if any(on is not None for on in world.relay) or any(world.stations):
        yield "the machine starts anew", reboot(world)


def _signals(world: World, number: int, station: Station) -> Iterator[steps.Step]:
    if station.controller != DEAD:
        yield f"kill controller {number}", steps.controller_dies(world, number)
        torn = steps.controller_dies(world, number, torn=True)
        yield f"kill controller {number} in a write", torn
        both = with_station(steps.controller_dies(world, number), number, supervisor=DEAD)
        yield f"kill controller and supervisor {number}", both
    if station.supervisor != DEAD:
        yield (
            f"kill supervisor {number}",
            with_station(world, number, supervisor=DEAD, remembered=frozenset()),
        )
    if station.controller == LIVES:
        yield f"STOP controller {number}", with_station(world, number, controller=STOPPED)
    if station.supervisor == LIVES:
        yield f"STOP supervisor {number}", with_station(world, number, supervisor=STOPPED)


def _files(world: World) -> Iterator[steps.Step]:
    for home, oven in itertools.product(HOMES, OVENS):
        spot = place(home, oven)
        slots = world.latch[spot]
        if world.mark[spot] is not None:
            yield f"remove mark {home} {oven}", world._replace(mark=put(world.mark, spot, None))
            yield f"tear mark {home} {oven}", world._replace(mark=put(world.mark, spot, ("torn",)))
        if slots is not None:
            yield f"remove latch {home} {oven}", world._replace(latch=put(world.latch, spot, None))
            for slot in (0, 1):
                hurt = put(slots, slot, ("damaged", 0, ""))
                yield (
                    f"tear slot {slot} of latch {home} {oven}",
                    world._replace(latch=put(world.latch, spot, hurt)),
                )
    for oven in OVENS:
        if not world.out[oven]:
            yield f"the cable of oven {oven} is pulled", world._replace(out=put(world.out, oven, True))
    for home in HOMES:
        if not world.full[home]:
            yield f"the disk of home {home} is full", world._replace(full=put(world.full, home, True))


def reboot(world: World) -> World:
    """Every process dies; the machine's own stamps go; a relay stays as it is."""
    for number, station in enumerate(world.stations):
        if station.controller != DEAD:
            world = steps.controller_dies(world, number)
        world = with_station(world, number, supervisor=DEAD, remembered=frozenset())
    for at, proc in enumerate(world.procs):
        if proc.stage not in ("new", "done", "dead"):
            world = with_proc(world, at, stage="dead")
    kept = tuple(item for item in world.stamps if item[0].startswith("/home-"))
    return world._replace(boot=world.boot + 1, stamps=kept)


def judged(world: World) -> str:
    """Return what is wrong with a state, empty where nothing is."""
    if world.wrong:
        return world.wrong
    for home, oven in itertools.product(HOMES, OVENS):
        latch = steps.word(world, home, oven)
        if world.truth[place(home, oven)] not in (CLEAR, INTERRUPTED) and latch is steps.LatchWord.FREE:
            busy = any(isinstance(p, Start) and at_work(world, p) and p.oven == oven for p in world.procs)
            if not busy:
                return f"a latch was lost: home {home}, oven {oven} has tripped and its latch says free"
    return ""


def walk(commands: Iterable[Any], faults: int, most: int = 10**9, **before: Any) -> Found:
    """Walk through everything that these commands and so many faults may come to, the nearest first."""
    first = World(tuple(commands), faults, **before)
    came: dict[World, tuple[World, str] | None] = {first: None}
    layer, depth = [first], 0
    with stamps.on_the_disk_of_a_state():
        while layer:
            after: list[World] = []
            for world in layer:
                for what, new in next_steps(world):
                    if new in came:
                        continue
                    came[new] = (world, what)
                    if wrong := judged(new):
                        return Found(len(came), depth + 1, False, wrong, _way(came, new))
                    after.append(new)
                if len(came) > most:
                    return Found(len(came), depth, False)
            layer = after
            depth += bool(after)
    return Found(len(came), depth, True)


def _way(came: dict[World, tuple[World, str] | None], world: World) -> tuple[str, ...]:
    way: list[str] = []
    at = came[world]
    while at is not None:
        way.append(at[1])
        at = came[at[0]]
    return tuple(reversed(way))


def scopes(size: int) -> Iterator[tuple[Any, ...]]:
    """Yield every set of so many commands of which one may heat; a command may come twice."""
    for chosen in itertools.combinations_with_replacement(COMMANDS, size):
        if any(command in HEATS for command in chosen):
            yield chosen


def main() -> int:
    """Walk every scope and print what it came to."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--size", type=int, default=2)
    parser.add_argument("--faults", type=int, default=1)
    args = parser.parse_args()
    began_s, states, deepest, bad = time.monotonic(), 0, 0, 0
    for chosen in scopes(args.size):
        found = walk(chosen, args.faults)
        states, deepest = states + found.states, max(deepest, found.depth)
        if found.wrong:
            bad += 1
            print("WRONG", found.wrong, *map(str, chosen), *found.way, sep="\n  ")
    seconds = time.monotonic() - began_s
    print(f"{states} states, {deepest} steps deep, {bad} scopes with a violation, {seconds:.0f} s")
    return min(bad, 1)


if __name__ == "__main__":
    sys.exit(main())
