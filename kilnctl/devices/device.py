"""What every device on a bus has in common, whatever it speaks: silence, probes, health, greeting."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, TypeVar

from kilnctl.clock import Clock
from kilnctl.devices.bus import Bus
from kilnctl.devices.health import Health
from kilnctl.devices.port import Line
from kilnctl.errors import BadReply, DeviceError, DeviceRefused, NoReply, PortLost

if TYPE_CHECKING:
    from kilnctl.config.places import Place
    from kilnctl.config.wiring import Written

SHORT_PROBE_S = 0.05
# So many answers in a row that count for nothing, and a device costs a tick no more than a silent one: a
# board of which every answer comes damaged would else hold up the other ovens for longer than is waited for.
DAMAGED = 3
# How slow a device is that never answered nobody knows: one probe of it in so many waits as long as the file
# says, or a slow board that gets power later would not be heard.
WHOLE_PROBE_EVERY = 4

T = TypeVar("T")
Raw = float | DeviceError
Epoch = tuple[int, int]


class WiredDevice:
    """One device on a bus.

    After a miss, or `DAMAGED` answers in a row that were none, it is `silent`: until it answers again it gets
    one short probe a tick, so that it does not starve the others on the wire.

    `epoch` changes whenever the port was opened anew or the device has restarted; `greeted` is the epoch
    in which off was sent and identities were checked. Only in that one is anything written that is not off.
    """

    def __init__(self, name: str, bus: Bus, clock: Clock) -> None:
        self.name = name
        self.health = Health()
        self.silent = False
        self.greeted: Epoch = (0, 0)
        self.restarts = 0
        self._bus = bus
        self._clock = clock
        self._slowest_s = 0.0
        self._answered = False
        self._probe_left = True
        self._probes = 0

    @property
    def epoch(self) -> Epoch:
        """Return which opening of the port and which start of the device this is; (0, n) while closed."""
        return self._bus.opening, self.restarts

    @property
    def slowest_s(self) -> float:
        """Return how long its slowest answer took, 0 for none."""
        return self._slowest_s

    def expect(self, slowest_s: float) -> None:
        """Take it for a device that has answered so slowly and is silent: one short probe of it will do."""
        self.silent = self._answered = True
        self._slowest_s = slowest_s

    def new_tick(self) -> None:
        """A new tick begins: a silent device may be probed once more."""
        self._probe_left = True
        self._probes = self._probes + 1 if self.silent else 0

    def started_anew(self, doing: str, told: bool, at_once: bool) -> None:
        """Note that the device has started again where it has `told` so. Raises BadReply unless `at_once`."""
        if not told:
            return
        self.restarts += 1
        if not at_once:
            raise BadReply(f"{self.name}, {doing}: the board has restarted")

    def wake(self) -> bool:
        """After a fresh opening of the port, wait until the device has started. Most need no such thing.

        Return whether it was waited for. Raises DeviceError.
        """
        return False

    def read(self, places: "Sequence[Place]", force: bool = False) -> list[Raw]:
        """Return the raw number at each place (before scale and offset), or the error in its stead.

        `force` asks a silent device too: for the read-back of off.
        """
        raise NotImplementedError

    def write(self, place: "Written", raw: float, force: bool = False) -> None:
        """Write a raw number. Raises DeviceError; after an error the state out there is unknown.

        `force` is for off: sent even to a silent device, and on a line that never gets quiet.
        """
        raise NotImplementedError

    def check_name(self) -> None:
        """Raise DeviceError when the device gives another name than the oven file; most give none."""

    def simulated_speed(self) -> float | None:
        """Return the speed of a simulator that answers here, None for a real device. Raises PortLost."""
        raise NotImplementedError

    def _exchange(
        self, doing: str, work: Callable[[Line], T], force: bool = False, greeted: bool = False
    ) -> T:
        """Run one exchange under the bus's lock; `greeted` refuses outside the greeted epoch."""
        if self.silent and not self._probe_left and not force:
            n = self.health.misses_in_a_row
            raise NoReply(f"{self.name}: no reply to the last {f'{n} tries' if n > 1 else 'try'}")
        if greeted and self.epoch != self.greeted:
            raise PortLost(f"{self.name}, {doing}: port or device has restarted; switching off first")
        short = self.silent and (force or self._answered or self._probes % WHOLE_PROBE_EVERY != 0)
        self._probe_left = False
        timeout_s = min(self._bus.port.timeout_s, max(SHORT_PROBE_S, 3 * self._slowest_s))
        only_in = self.greeted[0] if greeted else None
        began_s = 0.0

        def timed(line: Line) -> T:
            nonlocal began_s
            began_s = self._clock.real_s()  # the line is ours and quiet from here on
            return work(line)

        try:
            answer = self._bus.exchange(
                f"{self.name}, {doing}", timed, timeout_s if short else None, force, only_in
            )
        except DeviceError as e:
            self.health.note(isinstance(e, DeviceRefused), self._clock.real_s())  # a refusal came whole
            damaged = self.health.misses_in_a_row >= DAMAGED
            if isinstance(e, BadReply) and began_s:
                self._took(began_s)  # a probe must be long enough to hear it, or "damaged" becomes "no reply"
            self.silent = self.silent or damaged or isinstance(e, NoReply | PortLost)
            raise
        if not self.silent:
            self._took(began_s)
        self.silent, self._answered = False, True
        self.health.note(True, self._clock.real_s())
        return answer

    def _took(self, began_s: float) -> None:
        self._slowest_s = max(self._slowest_s, self._clock.real_s() - began_s)
