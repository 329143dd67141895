"""Which oven a mark on disk belongs to: where its heat is switched, by whatever name it is called."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kilnctl.config import port_path
from kilnctl.marks.off_stamp import Outlet
from kilnctl.marks.ovens_in_charge import is_there, looks_at

if TYPE_CHECKING:
    from kilnctl.config.oven import Oven
    from kilnctl.config.wiring import Output


@dataclass(frozen=True, slots=True)
class OvenIdentity:
    """Which oven a latch belongs to: where its heat is switched, and whether it is only simulated."""

    at: tuple[Outlet, ...] = ()
    simulated: bool = False

    def same_device(self, other: "OvenIdentity") -> bool:
        """Return whether both switch heat at the same place of the same port, by whatever path."""
        return bool(_real(self.at) & _real(other.at))

    def within(self, other: "OvenIdentity") -> bool:
        """Return whether the other switches heat everywhere where this one does; its port may have moved."""
        return self.simulated == other.simulated and looks_at(other.at, self.at)

    def stands_beside(self, other: "OvenIdentity") -> bool:
        """Return whether a port of this one is there that is none of the other's."""
        others = {port_path.real(outlet.port) for outlet in other.at}
        return any(is_there(one.port) and port_path.real(one.port) not in others for one in self.at)

    def line(self) -> str:
        """Return it in words."""
        ports = ", ".join(dict.fromkeys(outlet.port for outlet in self.at)) or "an unknown port"
        return f"{'simulated' if self.simulated else 'live'}, at {ports}"


UNKNOWN_OVEN = OvenIdentity()


def identity_of(oven: "Oven") -> OvenIdentity:
    """Return what an oven file says of the oven's identity."""
    outputs = [output for output in (oven.output.heater, oven.output.contactor) if output is not None]
    return OvenIdentity(tuple(dict.fromkeys(outlet_of(oven, output) for output in outputs)), oven.simulated)


def written_together(one: "Oven", other: "Oven") -> bool:
    """Return whether what heats one oven is written where the other's heater or contactor is.

    Bits of one register, or one line of text: each oven would write the other's output as it knows it.
    """
    own, others = identity_of(one).at, identity_of(other).at
    return bool(_real(own[:1]) & _real(others) or _real(own) & _real(others[:1]))


def outlet_of(oven: "Oven", output: "Output") -> Outlet:
    """Return where one output of an oven is written."""
    device = oven.device[output.device]
    words = (getattr(device, "address", 0), output.table, output.register_no)
    place = output.field or "-".join(str(word) for word in words)
    told = getattr(device, "tell", {}).get(output.field)  # of a text board, as `off_stamp` names it too
    return Outlet(oven.port[device.port].path, told.send if told else place)


def _real(at: Iterable[Outlet]) -> set[tuple[str, str]]:
    return {(port_path.real(outlet.port), outlet.place) for outlet in at}
