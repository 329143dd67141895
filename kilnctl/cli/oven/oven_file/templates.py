"""What a new oven file begins from: the examples of the guide, and what the guide says of each key."""

import functools
import re
import tomllib
from typing import Any, NamedTuple

from kilnctl.guide.pages import page


class Way(NamedTuple):
    """A way of connecting: in plain words, the page of the guide, and which example of the page."""

    words: str
    topic: str
    example: int = 0


WAYS = (
    Way("a relay board and a temperature module on a two-wire line (Modbus)", "modbus-relay"),
    Way("a board with timed outputs: on for so many tenths of a second (Modbus)", "modbus-other-outputs"),
    Way(
        "a power controller, or an instrument in manual mode, that takes 0 to full heat (Modbus)",
        "modbus-other-outputs",
        1,
    ),
    Way("a relay board without a watchdog, with a timer relay behind it (Modbus)", "timer-relay"),
    Way("a board on a network, or units behind a gateway (Modbus over TCP)", "network"),
    Way("a panel instrument that regulates by itself (Modbus)", "set-point-instrument"),
    Way("a microcontroller that answers with lines of text of its own", "text-board"),
    Way("the same with words like ON and OFF, or answers of several lines", "text-board", 1),
    Way("a microcontroller with kilnctl's own line protocol", "line-board"),
    Way("a converter that gives only the voltage of a bare thermocouple (Modbus)", "bare-thermocouple"),
)
MOST_KEYS = 3  # a row that tells more keys tells none of them
BY_ITS_TABLE = ("kind",)  # a device has one and a heater another, and a page has one row for it
TIMERS_CONTACT = ("dead_man", "back")  # its page tells of the heater's
OF_WHAT = re.compile(r"(?:Modbus|of an? ).{0,30}")  # which devices or heaters it is told of
POINTER = re.compile(r"\bsee `kilnctl guide ([\w-]+)`")
# Which parts of the page "oven-file" tell the keys of a table of the file.
_HEADINGS = {
    "port": ("Ports",),
    "device": ("Devices",),
    "signal": ("Places: where a value lives", "Signals"),
    "output": ("Places: where a value lives", "Outputs"),
    "identity": ("Places: where a value lives", "Identity"),
    "dead_man": ("Places: where a value lives", "Dead-man"),
    "arm": ("Places: where a value lives", "Arm"),
}


def template(way: Way) -> dict[str, Any]:
    """Return the example of a way of connecting as plain data."""
    return tomllib.loads(re.findall(r"```toml\n(.*?)```", page(way.topic).text(), re.S)[way.example])


def meaning(path: tuple[str, ...], topic: str) -> str:
    """Return what the guide says of a key, like ("signal", "process", "scale"), or nothing.

    The page of the way of connecting says it most nearly, then the page of all keys.
    """
    near = _told(topic, "").get(path[-1], "") if topic and path[-1] not in BY_ITS_TABLE else ""
    if near and path[0] in _HEADINGS and path[0] != "arm" and path != TIMERS_CONTACT:
        return near
    found = ""
    headings = _HEADINGS.get(path[0], ("The oven",))
    for heading in ("Signals", *headings) if path[-2:-1] == ("back",) else headings:
        found = _told("oven-file", heading).get(path[-1], found)
    pointer = POINTER.search(found)
    return _told(pointer[1], "").get(path[-1], found) if pointer else found


def half(words: str) -> str:
    """Return what a meaning says first, up to where it goes into particulars, with what it is said of."""
    first = re.split(r"[;(]|\. ", words)[0]
    of_what, told, rest = first.partition(":")
    short = OF_WHAT.fullmatch(of_what)
    return f"{of_what}: {rest.partition(':')[0].strip(' .')}" if told and short else of_what.strip(" .")


@functools.cache
def _told(topic: str, heading: str) -> dict[str, str]:
    """Return the meanings of one part of a page, as plain text; the first one of a key counts.

    Without a heading it is the whole page, and of it what is no mere pointer to another one.
    """
    part = page(topic).text()
    if heading:
        part = part.partition(f"\n## {heading}\n")[2].partition("\n## ")[0]
    told: dict[str, str] = {}
    for keys, words in re.findall(r"^\| (`[^|]*) \| (.*) \|$", part, re.M):
        if not heading and ("see [" in words or len(keys.split(",")) > MOST_KEYS):
            continue
        for key in re.findall(r"`([a-z_]+)`", keys):
            told.setdefault(
                key, re.sub(r"\[[^]]*\]\((?:[^)]*/)?([\w-]+)\.md[^)]*\)", r"`kilnctl guide \1`", words)
            )
    return told
