"""A yes/no input, and part of a number. Its own module: an `off` at the port waits for what it imports."""

from typing import TYPE_CHECKING

from kilnctl.errors import DeviceError

if TYPE_CHECKING:
    from kilnctl.config.places import Place, Switch


def switch(place: "Switch", raw: float | DeviceError) -> bool | None:
    """Return a yes/no input, None where it cannot be read."""
    if isinstance(raw, DeviceError):
        return None
    if place.yes and raw not in place.yes and raw not in place.no:
        return None  # neither: such a number proves nothing, least of all that something has dropped
    said = raw in place.yes if place.yes else bool(raw)
    return said != place.inverted


def bits_of(place: "Place", whole: int) -> int:
    """Return the bit of a number that a place is, or what its mask leaves, shifted down to its lowest bit."""
    if place.bit is not None:
        return whole >> place.bit & 1
    mask: int = place.mask or -1
    return (whole & mask) >> ((mask & -mask).bit_length() - 1)
