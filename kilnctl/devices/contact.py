"""A yes/no input. Its own module, because an `off` at the port waits for what it imports."""

from typing import TYPE_CHECKING

from kilnctl.errors import DeviceError

if TYPE_CHECKING:
    from kilnctl.config.wiring import Switch


def switch(place: "Switch", raw: float | DeviceError) -> bool | None:
    """Return a yes/no input, None where it cannot be read."""
    return None if isinstance(raw, DeviceError) else bool(raw) != place.inverted
