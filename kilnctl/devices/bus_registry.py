"""One bus per port, shared by every oven and device on it; a port is given back with its last oven."""

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING

from kilnctl.clock import Clock
from kilnctl.config.port_path import real
from kilnctl.devices.bus import Bus
from kilnctl.devices.port import Line, open_line
from kilnctl.errors import RunRefused

if TYPE_CHECKING:
    from kilnctl.config.device_keys import Port
    from kilnctl.config.oven import Oven


class Buses:
    """The buses of one process. Two names of one port (a by-id link and its target) share one bus.

    A bus opens at first use, so that one missing port does not keep another oven from going off.
    """

    def __init__(
        self, clock: Clock, exclusive: bool = True, opener: "Callable[[Port, bool], Line]" = open_line
    ) -> None:
        self._clock = clock
        self._exclusive = exclusive
        self._opener = opener
        self._lock = threading.Lock()
        self._bus: dict[str, Bus] = {}
        self._users: dict[str, set[str]] = {}

    def take(self, oven: "Oven") -> dict[str, Bus]:
        """Return the bus of each port name of an oven file.

        Raises RunRefused when another oven runs on the port with other settings.
        """
        with self._lock:
            taken = {name: self._shared(port, oven.name) for name, port in oven.port.items()}
            for port in oven.port.values():
                self._users.setdefault(real(port.path), set()).add(oven.name)
            return taken

    def _shared(self, port: "Port", name: str) -> Bus:
        bus = self._bus.setdefault(real(port.path), Bus(port, self._clock, self._exclusive, self._opener))
        if bus.port.settings != port.settings:
            others = " and ".join(sorted(self._users.get(real(port.path), set()))) or "another oven"
            said = f"{port.path}: {name} needs other settings on it than {others}"
            raise RunRefused(f"{said}; if that is an earlier try, take its file out of the ovens folder")
        return bus

    def give_back(self, oven: "Oven") -> None:
        """Close every port that no other oven uses. Never raises."""
        with self._lock:
            for path, users in list(self._users.items()):
                users.discard(oven.name)
                if not users:
                    self._users.pop(path)
                    self._bus.pop(path).close()
