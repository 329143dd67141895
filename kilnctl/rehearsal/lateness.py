"""How long a fault may go on where software can see it: the hazard list's own seconds, and what is judged.

Nothing here is taken from the interlocks. `asked_s` is the list's number; where the judged one is larger,
`why` gives the physical reason, and the page LATENESS.md shows both.
"""

from collections.abc import Set
from dataclasses import dataclass
from math import inf
from typing import Literal

from kilnctl.config.oven import Oven
from simulator.boards.faults import FAULTS, Fault

COLD_K = 90.0
Counts = Literal["wanted", "asked", "full", "live", "door", "unasked", "flows"]
Where = Literal["", "cold", "cold unseen", "cold moved", "ramp", "step", "wraps", "never whole"]
# So long after an operator step a door may still stand open that no switch tells of (the list stops it then).
DOOR_S = 120.0
# Ten times this passes the end of a count of sixteen bits (tenths of a kelvin), and reads as itself.
WRAPS_C, WRAPS_K = 6553.6 / 9.0, 6.0
# From the first heat on: by then the estimate has settled, and what comes of the heat is known.
SEEN_WHOLE_S = 360.0
COUNTS: dict[Counts, str] = {
    "wanted": "s while a set-point is held",
    "asked": "s of heat asked",
    "full": "s of nearly full heat asked",
    "live": "s of the heat",
    "door": "s in which no door may be open",
    "unasked": "s without a command to heat, contactor closed",
    "flows": "s in which heat flows that nobody asked for",
}
PLACES: dict[Where, str] = {
    "": "",
    "cold": ", from cold",
    "cold unseen": ", from cold, after the first heat, no door switch",
    "cold moved": ", from cold, after the first heat",
    "ramp": ", in a ramp",
    "step": ", no door switch, in an operator step or two minutes after it",
    "wraps": ", within 6 K of 728.2 °C",
    "never whole": ", volts not measured, dead within six minutes of the first heat",
}
ELEMENT = ("heater_live", "current_a")
# What flows through a relay that obeys is what was written. Every oven has one, until a fault takes it.
OBEYS = "relay"
# Elements that the charge and the sensor see, or that the air comes from.
IN_SIGHT = "elements_in_sight"
# Crossed between two ovens (H15, H22): both heats off within so many seconds in which one of them is heated
# and asked for so much more than the other, in shares of full power by the last minute.
CROSSED = ("sensors-crossed", "outputs-crossed")
CROSSED_S, APART = 120.0, 0.25
# What is fitted to protect, on a module of its own.
_PROTECTS = ("smoke", "limit_open", "door_open", "fan_on", "enclosure", "cold_junction", *ELEMENT)
_ALL = ("learned", "second", "supply_v", OBEYS, *ELEMENT)


@dataclass(frozen=True, slots=True)
class Allowed:
    """One number: at most `within_s` seconds, counted as `counts` says, where any of `needs` is there.

    `where`: only for a fault that begins in an oven hardly warmer than the room, in a ramp, or in an operator
    step or soon after it where no switch tells of the door. `below_c`: the true temperature that must not be
    reached before the heat is off. `asked_s` is None where the list has no seconds for it.
    """

    within_s: float
    counts: Counts = "wanted"
    needs: tuple[str, ...] = ()
    asked_s: float | None = None
    where: Where = ""
    below_c: float | None = None
    why: str = ""

    def fits(self, signals: set[str], places: Set[Where]) -> bool:
        """Return whether this number counts with these signals, for a fault that began there."""
        here = not self.where or self.where in places
        return here and (not self.needs or not signals.isdisjoint(self.needs))


def _list(seconds: float, counts: Counts = "wanted", *needs: str, where: Where = "") -> Allowed:
    """Return a number of the hazard list as it stands."""
    return Allowed(seconds, counts, needs, seconds, where)


def _more(
    asked_s: float, seconds: float, counts: Counts, *needs: str, why: str, where: Where = ""
) -> Allowed:
    """Return a number that is larger than the list's, with its physical reason."""
    return Allowed(seconds, counts, needs, asked_s, where, None, why)


def _own(
    seconds: float,
    counts: Counts,
    *needs: str,
    why: str = "the list names no seconds",
    where: Where = "",
) -> Allowed:
    return Allowed(seconds, counts, needs, None, where, None, why)


_UNSEEN = "no switch tells of the door: a cold charge may be in, and a quarter more heat is waited for"
_COLD_UNSEEN = (
    _more(120.0, 150.0, "asked", "learned", IN_SIGHT, where="cold unseen", why=_UNSEEN),
    _more(120.0, 325.0, "asked", where="cold unseen", why=f"as below, and {_UNSEEN}"),
)
_MOVES = "it moves to where it then lies, with the 30 s of lag of the list's own sensor, as an answer does"
_COLD_MOVED = (
    _more(120.0, 150.0, "asked", "learned", IN_SIGHT, where="cold moved", why=_MOVES),
    _more(120.0, 290.0, "asked", where="cold moved", why=f"as below, and {_MOVES}"),
)
_COLD = (
    _list(120.0, "asked", "learned", IN_SIGHT, where="cold"),
    _more(
        120.0,
        260.0,
        "asked",
        where="cold",
        why="not learned, elements out of sight: a sound muffle was seen to lag behind its nameplate "
        "by what 202 s of full heat bring",
    ),
)
_STEP = _more(
    15.0,
    150.0,
    "asked",
    where="step",
    why="no switch tells of the door: what falls and stays cold after a step is judged as a first answer, "
    "120 s, once it has fallen (30 s, the lag of the list's own sensor)",
)
_SECOND = _list(35.0, "wanted", "second")
_DEAD = (_list(145.0, "asked", *ELEMENT), _list(145.0, "asked", "learned"))
_GROWS = _own(3600.0, "wanted", "second", why="an error in proportion passes the band only when hot enough")
_CUT_LINE = _list(4.0, "live")  # "age > 3 cycles": at the fourth
# A count that stands still says something after two minutes at the earliest: a sound oven in a slow ramp, or
# behind a sensor with coarse steps, shows one and the same count for as long.
_FROZEN = (
    _more(30.0, 180.0, "wanted", where="ramp", why="the list starts its own test after 120 s of one count"),
    _list(180.0),
)
# The rehearsed boards answer five times a second. Below four the rule takes 120 answers, however long
# (`interlocks/RESULTS.md`).
_BAD_LINE = _list(30.0, "live")


def _drift(k_per_h: float) -> Allowed:
    list_s = 15.0 / k_per_h * 3600.0
    why = "then 15 K apart for 30 s, as the list has it for two sensors"
    return _more(list_s, list_s + 30.0, "wanted", "second", why=why)


# Keys are those of EXPECTED; a fault that is not here need not be cut.
ALLOWED: dict[str, tuple[Allowed, ...]] = {
    "sensor-open": (_list(2.0, "live"),),
    "sensor-short": (*_COLD_UNSEEN, *_COLD, _list(10.0)),
    "sensor-reversed": (*_COLD_UNSEEN, *_COLD, _list(10.0)),
    "sensor-reversed-twice": (_list(30.0, "wanted", "second"),),
    "sensor-copper": (_list(30.0, "wanted", "second"),),
    "sensor-displaced": (*_COLD_UNSEEN, *_COLD_MOVED, *_COLD, _STEP, _list(15.0)),
    "sensor-drift:-10": (_drift(10.0),),
    "sensor-drift:-20": (_drift(20.0),),
    "sensor-drift:-60": (_drift(60.0),),
    "sensor-half-out:10": (
        _own(600.0, "wanted", "second", where="cold", why="what slips out shows only against a warm chamber"),
        _own(300.0, "wanted", "second"),
    ),
    "sensor-half-out:60": (_own(1800.0, "wanted", "second"),),
    "sensor-slips:60": (_GROWS,),
    "sensor-frozen": _FROZEN,
    "sensor-hung": _FROZEN,
    "sensor-noise": (_list(60.0),),
    "sensor-spikes": (
        _more(60.0, 120.0, "wanted", why="the first of them comes by chance, one conversion in ten"),
    ),
    "sensor-k-as-j": (_GROWS,),
    "sensor-j-as-k": (_GROWS,),
    "sensor-fahrenheit": (_SECOND,),
    "sensor-converted-twice": (_SECOND,),
    "cold-junction-dead": (_SECOND,),
    "sensor-scale:0.1": (*_COLD_UNSEEN, *_COLD, _list(10.0)),
    "sensor-scale:10": (
        _more(
            10.0,
            300.0,
            "wanted",
            where="wraps",
            why="a count of sixteen bits passes its end: 728.2 °C (65536 / 90) reads as itself, and near it "
            "only ten times the noise and the slope show",
        ),
        *_COLD_UNSEEN,
        *_COLD,
        _list(10.0),
    ),
    "sensor-gain:1.1": (_GROWS,),
    "sensor-gain:0.9": (_GROWS,),
    "sensor-offset:20": (_SECOND,),
    "sensor-offset:-20": (_SECOND,),
    "second-offset:20": (_SECOND,),
    "second-offset:-20": (_SECOND,),
    "relay-welded": (_list(2.0, "flows", *ELEMENT), _list(197.0, "flows", "learned")),
    "half-wave": (_list(2.0, "flows", *ELEMENT), _list(428.0, "flows", "learned")),
    "relay-late:3": (_own(2.0, "flows", *ELEMENT),),
    "relay-sticky:0.05": (
        _own(
            5.0,
            "flows",
            *ELEMENT,
            why="near full heat the relay opens for one second only: seconds in which it sticks add up, and "
            "two in a row cut the heat",
        ),
    ),
    "live-says-on": (_list(2.0, "unasked", "heater_live"),),
    "live-says-off": (_own(20.0, "asked", "heater_live"),),
    "relay-open": _DEAD,
    "contactor-open": _DEAD,
    "supply-lost": (_own(4.0, "live", "supply_v"), *_DEAD),
    "relay-chatter": (
        _more(
            10.0,
            40.0,
            "asked",
            *ELEMENT,
            why="read once a second, half of the changes at 5 Hz go unseen, "
            "and so does the first second of a pulse",
        ),
    ),
    "element-dead:0.5": (
        _more(
            268.0,
            inf,
            "full",
            "learned",
            where="never whole",
            why="with a tenth more volts and a fifth less loss than the model 31 to 33 % of full power is "
            "missing; a sound oven with a tenth less and a fifth more lacks as much, and this one was never "
            "seen otherwise. That it arrives late is told",
        ),
        _list(268.0, "full", "learned"),
    ),
    "supply-factor:1.2": (_own(4.0, "live", "supply_v"),),
    "replies-silent": (_CUT_LINE,),
    "power-cut": (_CUT_LINE,),
    "replies-damaged:1": (_CUT_LINE,),
    "replies-echoed": (_CUT_LINE,),
    "replies-other-address": (
        _more(
            2.0, 4.0, "live", why="one wrong address may be a damaged byte; three make a lost device, as H30"
        ),
    ),
    "replies-late:0.4": (_own(4.0, "live"),),
    "foreign-frames": (_own(4.0, "live"),),
    "replies-damaged:0.3": (_BAD_LINE,),
    "replies-short:0.3": (_BAD_LINE,),
    "replies-junk:0.3": (_BAD_LINE,),
    "replies-lost:0.3": (_BAD_LINE,),
    "wrong-device": (*_COLD_UNSEEN, *_COLD, _list(2.0)),
    "door-open": (_list(120.0, "door", "door_open"),),
    "door-bounces": (
        _more(
            120.0, 160.0, "door", "door_open", why="each second in which the switch says shut takes one back"
        ),
    ),
    "module-silent": (_own(62.0, "live", *_PROTECTS),),
    "smoke": (_list(1.0, "live", "smoke"),),
    "fan-stopped": (_own(15.0, "wanted", "fan_on"),),
    "enclosure-hot": (_own(2.0, "live", "enclosure"),),
    "stray-on": (_list(1.0, "flows", OBEYS),),
}
# What a fault takes away from the others that come with it: signals, or all of them (a dead line).
_SPOILED: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = (
    (("replies-", "power-cut", "foreign-frames", "wrong-device"), ("*",)),
    (("live-says-",), ELEMENT),
    (("second-",), ("second",)),
    (("module-silent",), ("second", "supply_v", *_PROTECTS)),
    (("sensor-", "cold-junction-"), ("learned", "second", "process")),
    (("door-", "cold-part", "fan-", "supply-", "element-", "ambient-"), ("learned",)),
    (("relay-", "half-wave", "contactor-", "supply-lost", "board-reset", "boots-on"), _ALL),
)


def spoiled(by: Fault) -> set[str]:
    """Return the signals that tell nothing any more while a fault lasts; "*" stands for all."""
    return {name for heads, names in _SPOILED if by.name.startswith(heads) for name in names}


def signals_of(oven: Oven, learned: bool) -> set[str]:
    """Return what an oven has to see with: its signals, and "learned" where a model of it is known."""
    fitted = {OBEYS, *(name for name, place in oven.signal if place is not None)}
    if oven.elements in ("open", "fan"):
        fitted.add(IN_SIGHT)
    return fitted | {"learned"} if learned else fitted


def ends_at(fault: Fault, others: tuple[Fault, ...]) -> float:
    """Return when a fault is over: by itself, or when a later one sets the same field of the simulator."""
    fields = {field for field, _ in FAULTS[fault.name].sets}
    later = [
        other.at_s
        for other in others
        if other is not fault
        and other.at_s >= fault.at_s
        and not fields.isdisjoint(field for field, _ in FAULTS[other.name].sets)
    ]
    return min([fault.at_s + fault.for_s, *later])


def page() -> str:
    """Return the table as Markdown: for each fault the list's number beside the judged one, and why."""
    lines = [
        "# How late the heat may be cut: the hazard list's numbers, and those that are judged",
        "",
        "Made by `python -m tests.bench.campaign lateness`. Seconds from the fault's beginning, counted as",
        "the row says: what begins while no heat is wanted is found when it is next wanted. A number that is",
        "larger than the list's carries its physical reason. The first row whose signals are there counts.",
        "",
        "| fault | where it can be seen | list | judged | counted | reason for another number |",
        "|---|---|---|---|---|---|",
    ]
    for key, rows in ALLOWED.items():
        lines += [_line(key, row) for row in rows]
    lines.append(
        f"| {', '.join(CROSSED)} | two ovens of one controller | 120 | {CROSSED_S:.0f} | s of heat while one "
        "is asked for a quarter of full power more than the other | each gets what it asks for, crossed or "
        "not, as long as both ask for the same |"
    )
    return "\n".join(lines) + "\n"


def _line(key: str, row: Allowed) -> str:
    place = " or ".join(n for n in row.needs if n != OBEYS).replace("_", " ") or "every oven"
    place += PLACES[row.where]
    asked = "–" if row.asked_s is None else f"{row.asked_s:.0f}"
    judged = "none" if row.within_s == inf else f"{row.within_s:.0f}"
    return f"| {key} | {place} | {asked} | {judged} | {COUNTS[row.counts]} | {row.why or '–'} |"
