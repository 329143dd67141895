"""What the runner needs of an oven's inputs and outputs, whatever they are made of."""

from typing import Protocol

from kilnctl.readings import Scan
from kilnctl.values import value


@value
class HeatRequest:
    """What the heater should do until the next request.

    `on` is the relay's state in this tick; `duty` (0..1) is for outputs that take a duty;
    `setpoint_c` for instruments that regulate by themselves; None parks them low.
    """

    on: bool
    duty: float
    setpoint_c: float | None = None


class OvenIO(Protocol):
    """One oven, wired up. Only the controller that owns the port holds one."""

    def off(self) -> bool:
        """Cut the heat on every output of this oven; return True when it was read back as off.

        Takes no arguments, never raises, may be called in any state and as often as wanted.
        """
        ...

    def look_s(self) -> float | None:
        """Return how long one `off` takes at the board's pace, None where its last word was not answered."""
        ...

    def connect(self) -> None:
        """Open the port, off first, then check identities. Raises DeviceError."""
        ...

    def scan(self, at_s: float) -> Scan:
        """Read every signal; errors become bad readings, never exceptions."""
        ...

    def drive(self, request: HeatRequest) -> bool:
        """Write the heater and read it back; return True when it is as asked. Never raises."""
        ...

    def feed(self) -> bool:
        """Refresh the dead-man (and the safety contactor); only after a whole healthy tick. Never raises."""
        ...

    def sound(self, horn: bool, lamp: bool) -> str:
        """Drive horn and lamp where the oven has them; return what was refused, or "". Never raises."""
        ...

    def arm_for_calls(self) -> bool:
        """Off, then what a board wants that refuses calls since its watchdog tripped; then `feed` it.

        Return False where there is no such thing, or the heat is not read as off. Never raises.
        """
        ...

    def close(self) -> None:
        """Heat off, then give the port back. Never raises."""
        ...
