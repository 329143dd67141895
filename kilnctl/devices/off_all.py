"""Heat off on every oven, without a controller: for the supervisor and for `kilnctl off`."""

import threading
from collections.abc import Callable, Sequence

from kilnctl.clock import Clock
from kilnctl.config.oven import Oven
from kilnctl.devices.buses import Buses
from kilnctl.devices.hands import WiredHands
from kilnctl.errors import KilnctlError


def off_all(
    ovens: Sequence[Oven],
    clock: Clock,
    share: bool = False,
    tell: Callable[[str], None] | None = None,
) -> dict[str, bool]:
    """Send off to every oven and read it back; True where it was read as off. Never raises.

    Each port is opened exclusively; `share` opens it even where a process stuck in the kernel still holds the
    lock. One port cannot hold up another: each oven has a thread, and no thread takes longer than about 2 s.
    `tell` gets one line for each oven that could not be read as off.
    """
    done = {oven.name: False for oven in ovens}
    buses = Buses(clock, exclusive=not share)

    def one(oven: Oven) -> None:
        try:
            hands = WiredHands(oven, buses, clock)
            done[oven.name] = hands.off()
            why = hands.why
        except KilnctlError as e:
            why = str(e)
        if tell is not None and not done[oven.name]:
            tell(f"{oven.name}: {why}")

    threads = [threading.Thread(target=one, args=(oven,), daemon=True) for oven in ovens]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(3.0)
    for oven in ovens:
        buses.give_back(oven)
    return done
