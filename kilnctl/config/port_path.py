"""What the `path` of a port means: a device, a network address, or a simulator's line in the kilnctl folder.

Loads next to nothing: heat off reads it too.
"""

import os

from kilnctl.config import home
from kilnctl.errors import ConfigError

NETWORK = ("tcp://", "socket://")  # Modbus over TCP; the bytes of a serial line over TCP


def is_network(path: str) -> bool:
    """True for an address on a network."""
    return path.startswith(NETWORK)


def meant(path: str) -> str:
    """Return the whole path: one that begins with neither / nor an address lies in the kilnctl folder."""
    if not path or is_network(path):
        return path
    try:
        return os.path.join(home.home(), path)
    except ConfigError:  # no folder, so no line in it: whoever opens it says so
        return path


def real(path: str) -> str:
    """Return one name for one port, whatever links lead to it."""
    return path if is_network(path) else os.path.realpath(path)
