"""Heat off on every oven, without a controller: for the supervisor and for `kilnctl off`."""

import threading
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

from kilnctl.clock import Clock
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.heat_cutter import HeatCutter

if TYPE_CHECKING:
    from kilnctl.config.oven import Oven

BETWEEN_S = 0.05
# More than the longest single off of a board that does not answer; a banner is waited for too.
LONGEST_S = 3.0


def off_all(
    ovens: "Sequence[Oven]",
    clock: Clock,
    share: bool = False,
    tell: Callable[[str], None] | None = None,
    reads: int = 1,
    began: Callable[[HeatCutter], object] = lambda _cutter: None,
) -> dict[str, bool]:
    """Send off to every oven and read it back; True where it was read as off. Never raises.

    It must read off `reads` times in a row, `BETWEEN_S` apart; off is sent again each time.

    Each port is opened exclusively; `share` opens it even where a process stuck in the kernel still holds the
    lock. One port cannot hold up another: each oven has a thread, which is waited for as long as each of its
    offs comes back within `LONGEST_S` (and the time for a banner): a slow board takes a second for one.
    `tell` gets one line for each oven that could not be read as off, `began` each way to off as it begins.
    """
    done = {oven.name: False for oven in ovens}
    came = {oven.name: 0 for oven in ovens}
    buses = Buses(clock, exclusive=not share)

    def counted(name: str, reads: Iterator[bool]) -> Iterator[bool]:
        for read in reads:
            came[name] += 1
            yield read

    def one(oven: "Oven") -> None:
        try:
            oven_io = HeatCutter(oven, buses, clock)
            began(oven_io)
            done[oven.name] = all(counted(oven.name, off_in_a_row(oven_io.off, clock, reads)))
            why = oven_io.why
        except Exception as e:  # whatever is wrong with one oven, it is told, and the others go off
            why = str(e)
        try:
            if tell is not None and not done[oven.name]:  # first: a port that is stuck is not given back
                tell(f"{oven.name}: {why}")
        finally:
            buses.give_back(oven)  # here: a board that is waited for longer must not keep its port for good

    threads = {oven.name: threading.Thread(target=one, args=(oven,), daemon=True) for oven in ovens}
    for thread in threads.values():
        thread.start()
    for oven in ovens:
        name, thread, before = oven.name, threads[oven.name], -1
        longest_s = LONGEST_S + max(getattr(one, "banner_wait_s", 0.0) for one in oven.device.values())
        while thread.is_alive() and before != came[name]:
            before = came[name]
            thread.join(longest_s)
        # A port stuck in the kernel is left to the end of this process.
        if thread.is_alive() and tell is not None and not done[name]:
            tell(f"{name}: its port is stuck, nothing has come back for {longest_s:g} s")
    return dict(done)


def off_in_a_row(off: Callable[[], bool], clock: Clock, reads: int) -> Iterator[bool]:
    """Send off so many times, `BETWEEN_S` apart, and yield what each read-back said."""
    next_s = clock.real_s()
    for _ in range(reads):
        clock.pause(max(0.0, next_s - clock.real_s()))
        next_s = clock.real_s() + BETWEEN_S
        yield off()
