"""Which serial adapters this computer has now, for who is asked for a port. Nothing is opened."""

from pathlib import Path

MOST = 8
NAMED = Path("/dev/serial/by-id")
PLAIN = ("ttyUSB*", "ttyACM*", "ttyAMA*")  # the last: on the pins of a small computer


def ports_here(named: Path = NAMED, dev: Path = Path("/dev")) -> list[str]:
    """Return the names of adapters, those that stay the same first; where there are none, the plain ones."""
    try:
        found = sorted(map(str, named.iterdir()))
    except OSError:
        found = []
    return (found or sorted(str(path) for kind in PLAIN for path in dev.glob(kind)))[:MOST]


def in_words(ports: list[str]) -> str:
    """Return one line for a person, with the ports one below the other."""
    if not ports:
        return "No serial adapter is plugged in; see `kilnctl guide ports-and-services`."
    return "\n  ".join(["Plugged in here now:", *ports])
