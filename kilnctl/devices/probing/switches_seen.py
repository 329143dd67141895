"""Switches that only a person can judge: what each says now, and the key that turns it round."""

from collections.abc import Callable

from kilnctl.config.places import Place
from kilnctl.config.wiring import Signals
from kilnctl.devices.contact import switch
from kilnctl.errors import DeviceError

SAYS = {
    "door_open": ("the door is shut", "the door is open"),
    "limit_open": ("the independent limit has not opened", "the independent limit has opened"),
    "fan_on": ("the fan stands still", "the fan runs"),
    "smoke": ("no smoke", "smoke"),
}


def switches_seen(
    signals: Signals, read: Callable[[Place], float | DeviceError]
) -> list[tuple[str, str, str]]:
    """Return name, words and the key that turns it round."""
    found = []
    for name, words in SAYS.items():
        place = getattr(signals, name)
        if place is not None and (on := switch(place, read(place))) is not None:
            turned = "false" if place.inverted else "true"
            found.append((f"signal.{name}", words[on], f"inverted = {turned}"))
    return found
