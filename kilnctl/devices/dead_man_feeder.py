"""What a dead-man and a watchdog are written: the next number of a key or a count, an edge, a stored one."""

from collections.abc import Mapping

from kilnctl.config.oven import Oven
from kilnctl.config.wiring import Arm, DeadMan
from kilnctl.devices.device import WiredDevice
from kilnctl.devices.outputs import reads_as_asked
from kilnctl.errors import DeviceError


class DeadManFeeder:
    """Writes the dead-man of one oven. It knows what it was fed with last."""

    def __init__(self, oven: Oven, devices: Mapping[str, WiredDevice]) -> None:
        self._dead_man, self._devices = oven.dead_man, devices
        self._fed_with: float | None = None

    def edge(self) -> None:
        """Whatever level an earlier heat has left at a timer relay: the next feeding is an edge."""
        dead_man = self._dead_man
        if dead_man is not None and dead_man.then is not None:
            self._devices[dead_man.device].write(dead_man, dead_man.then)
            self._fed_with = dead_man.then

    def feed(self) -> None:
        """Feed it once. Raises DeviceError."""
        dead_man = self._dead_man
        if dead_man is None:
            return
        turn = dead_man.following(self._counted() if self._fed_with is None else self._fed_with)
        self.tell(dead_man, turn)
        self._fed_with = turn

    def tell(self, place: Arm | DeadMan, number: float) -> None:
        """Write a number; one that the device keeps only where it reads otherwise."""
        device = self._devices[place.device]
        if not (place.stored and reads_as_asked(device.read([place])[0], number)):
            device.write(place, number)

    def _counted(self) -> float | None:
        """Return where an earlier process stopped counting, None where nobody counts or can tell."""
        dead_man = self._dead_man
        if dead_man is None or dead_man.counts_to is None:
            return None
        raw = self._devices[dead_man.device].read([dead_man])[0]
        return None if isinstance(raw, DeviceError) else int(raw)
