"""What the `path` of a port means: a device, a network address, or a simulator's line in the kilnctl folder.

Loads next to nothing: heat off reads it too.
"""

import os
import re

from kilnctl.config import home
from kilnctl.errors import ConfigError

# RFC 1918, 3927, 4193 and 4291: networks that no router passes on, and this computer itself.
OWN_NETWORKS = (
    *("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8"),
    *("fc00::/7", "fe80::/10", "::1/128"),
)
BARE_ADDRESS = re.compile(r"\d+\.\d+\.\d+\.\d+(:\d+)?|\[[0-9a-fA-F:]+\](:\d+)?")
SOME_KIND = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*://")
UNIT_0 = 254  # stands for unit 0, which the Modbus library takes for a broadcast; no device has this one
NETWORK = ("tcp://", "socket://")  # Modbus over TCP; the bytes of a serial line over TCP


def is_network(path: str) -> bool:
    """True for an address on a network."""
    return path.startswith(NETWORK)


def lacks_its_kind(path: str) -> bool:
    """True for a network address without what is spoken there, or with a kind that is none here.

    Either would pass for a file's name.
    """
    return BARE_ADDRESS.fullmatch(path) is not None or (not is_network(path) and bool(SOME_KIND.match(path)))


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


def host_and_number(path: str) -> tuple[str, int]:
    """Return host and port number of a network address. Raises ValueError."""
    host, _, number = path.partition("://")[2].rpartition(":")
    return host.removeprefix("[").removesuffix("]"), int(number)


def why_no_port(path: str) -> str:
    """Return why an address is none on a network of one's own; empty where it is one.

    Nothing is looked up: a name may lead elsewhere tomorrow.
    """
    import ipaddress  # late: only a file that is checked asks this

    try:
        host, number = host_and_number(path)
        address = ipaddress.ip_address(host)
    except ValueError:
        return f'"{path}": write the address in numbers and its port, like "tcp://192.168.4.20:502"'
    if not 1 <= number <= 65535:
        return f'"{path}": a port number lies between 1 and 65535'
    own = (ipaddress.ip_network(net) for net in OWN_NETWORKS)
    if not any(net.version == address.version and address in net for net in own):
        return f'"{path}": not on a network of your own; an oven is never heated over the internet'
    return ""
