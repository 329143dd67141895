"""What a history did wrong, by the boards' log and by exit codes and words; nothing of kilnctl is asked.

The rules are the protocol's: an `off` that returned 0 holds until a later start; a trip stays
a trip until a reset; heat needs a start that is still on; the dead-man is armed before heat, outlives nobody.
"""

import re
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from histories.place import OVENS, Place, Said

HEATER, CONTACTOR = 0, 1
# A start that had this much processor time when `off` began has had its first act: it knows the stamps.
BEGUN_CPU_S = 0.2
FORKED_BEGUN_CPU_S = 0.02  # its first act comes at once: nothing has to be loaded
AFTER_END_S = (
    0.5  # between the end of a heat and the end of the command that shows it, or the other way round
)
LATE_S = 0.5
LATCH_TOLD = "A drill heats it anyway."
HUNG_S = 20.0
# What a history may do that ends a heat as if somebody had stopped it.
ENDS_A_HEAT = (
    *("SIGTERM", "SIGINT", "SIGHUP", "SIGKILL", "SIGSTOP"),
    *("off gone", "off torn", "home moved", "board bounce"),
)
BAD_WORDS, REFUSED, TRIPPED, STOPPED, FAULT = 2, 3, 4, 5, 70


@dataclass(frozen=True, slots=True)
class Wrong:
    """One violation: which rule, of which oven, when, and in words."""

    rule: str
    oven: str
    at_s: float
    say: str


@dataclass(slots=True)
class Relay:
    """One relay of one board: the times of its changes, and who made them."""

    times: list[float] = field(default_factory=list)
    states: list[bool] = field(default_factory=list)
    causes: list[str] = field(default_factory=list)
    armed: list[bool] = field(default_factory=list)

    def on_at(self, at_s: float) -> bool:
        """Return whether it was on."""
        i = bisect_right(self.times, at_s) - 1
        return i >= 0 and self.states[i]

    def by_hand(self, from_s: float, to_s: float) -> bool:
        """Return whether a hand switched it on in that time: an off that has read it back looks no more."""
        last = bisect_right(self.times, to_s) - 1
        return last >= 0 and self.times[last] >= from_s and self.states[last] and self.causes[last] == "hand"

    def went_on(self, after_s: float = 0.0) -> Iterator[tuple[float, bool]]:
        """Return when a request switched it on, and whether the dead-man was armed then."""
        for at_s, on, cause, armed in zip(self.times, self.states, self.causes, self.armed, strict=True):
            if on and at_s > after_s and cause != "hand":
                yield at_s, armed


@dataclass(slots=True)
class Heat:
    """A command that may heat one oven, and when it no longer may."""

    said: Said
    oven: str
    until_s: float
    number: int

    @property
    def from_s(self) -> float:
        """Return when it was asked for."""
        return self.said.began_s

    @property
    def home(self) -> str:
        """Return its home."""
        return self.said.home

    @property
    def told(self) -> bool:
        """Return False for a command that ended over its own words: no such file, no such oven."""
        return self.said.code != BAD_WORDS

    @property
    def run(self) -> Any:
        """Return its number in the logbook, where it told one."""
        return self.said.summary.get("run")

    @property
    def tripped(self) -> bool:
        """Return whether its words or its exit code tell a trip; an interruption is told by its word."""
        outcome = self.said.summary.get("outcome")
        return outcome == "tripped" or (
            self.said.code == TRIPPED and bool(self.said.summary) and outcome != "interrupted"
        )


class Judge:
    """Reads a history once. `wrongs` finds everything that must not be."""

    def __init__(self, place: Place) -> None:
        self.place = place
        self.relays = {(oven, coil): Relay() for oven in OVENS for coil in (HEATER, CONTACTOR)}
        self.feeds: dict[str, list[float]] = {oven: [] for oven in OVENS}
        self.stuck = {oven: False for oven in OVENS}
        for line in place.truth():
            self._take(line)
        self.heats = list(self._heats())
        self.offs = [said for said in place.said if said.words[0] == "off"]
        self.resets = [
            s for s in place.said if s.words[0] == "reset" and s.code == 0 and s.ended_s is not None
        ]

    def _take(self, line: dict[str, Any]) -> None:
        if line["event"] == "relay" and line["coil"] in (HEATER, CONTACTOR):
            relay = self.relays[line["board"], line["coil"]]
            relay.times.append(line["t"])
            relay.states.append(line["on"])
            relay.causes.append(line["by"])
            relay.armed.append(line["armed"])
        elif line["event"] == "feed":
            self.feeds[line["board"]].append(line["t"])
        elif line["event"] == "dead-man stuck":
            self.stuck[line["board"]] = True

    def _heats(self) -> Iterator[Heat]:
        for number, said in enumerate(self.place.said):
            words = said.words
            if words[0] not in ("run", "commission", "tune", "message"):
                continue
            ended_s = (
                said.ended_s if said.ended_s is not None and said.killed not in ("KILL", "HUP") else None
            )
            until_s = float("inf") if ended_s is None else ended_s + AFTER_END_S
            ovens = [said.oven] if said.oven is not None else list(OVENS)  # a resume names a run, not an oven
            for oven in ovens:
                yield Heat(said, oven, until_s, number)

    def wrongs(self) -> list[Wrong]:
        """Return everything that must not be, the earliest first."""
        found = [
            *self._offs_that_lied(),
            *self._heat_without_start(),
            *self._heat_after_trip(),
            *self._trips_offered(),
            *self._without_dead_man(),
            *self._other_oven_stopped(),
            *self._words(),
        ]
        return sorted(found, key=lambda wrong: wrong.at_s)

    def _covers(self, off: Said, oven: str) -> bool:
        return off.oven in (None, oven)

    def _later(self, heat: Heat, off: Said) -> bool:
        """Return whether a start may count as later than an off; one that had hardly begun may be either."""
        if heat.from_s >= off.began_s:
            return True
        come = off.earlier_cpu_s.get(heat.number)
        return come is not None and come < (BEGUN_CPU_S if self.place.nursery is None else FORKED_BEGUN_CPU_S)

    def _offs_that_lied(self) -> Iterator[Wrong]:
        for off in self.offs:
            if off.code != 0 or off.ended_s is None:
                continue
            for oven in OVENS:
                if self._covers(off, oven) and self._in_charge(off, oven):
                    yield from self._lied(off, oven, off.ended_s)

    def _in_charge(self, off: Said, oven: str) -> bool:
        """Return False for an oven that never heated from that home, and has no cable or no file there."""
        out = [
            what for at_s, what, about in self.place.events if at_s < off.began_s and about.startswith(oven)
        ]
        plugs = [what for what in out if what in ("board plug", "board unplug")]
        files = [
            about.rsplit(" ", 1)[1]
            for at_s, what, about in self.place.events
            if what == "oven file" and at_s < off.began_s and about.startswith(f"{off.home} {oven} ")
        ]
        heated = any(
            h.oven == oven and h.home == off.home and h.from_s < off.began_s for h in self.heats if h.told
        )
        known = files[-1:] != ["gone"]
        return heated or (known and (not plugs or plugs[-1] == "board plug"))

    def _lied(self, off: Said, oven: str, ended_s: float) -> Iterator[Wrong]:
        later = [h for h in self.heats if h.oven == oven and self._later(h, off) and h.from_s < ended_s]
        for coil in (HEATER, CONTACTOR):
            relay = self.relays[oven, coil]
            if relay.on_at(ended_s) and not later and not relay.by_hand(off.began_s, ended_s):
                yield Wrong("off lied", oven, ended_s, f"{_tell(off)}: coil {coil} was on when it returned")
            for at_s, _ in relay.went_on(ended_s):
                asked = [h for h in self.heats if h.oven == oven and self._later(h, off) and h.from_s < at_s]
                if not asked:
                    again = (
                        f"coil {coil} on {at_s - ended_s:.2f} s after it returned, nothing was started since"
                    )
                    yield Wrong("off lied", oven, at_s, f"{_tell(off)}: {again}")
                    break

    def _heat_without_start(self) -> Iterator[Wrong]:
        for oven in OVENS:
            for at_s, _ in self.relays[oven, HEATER].went_on():
                if not any(h.oven == oven and h.from_s < at_s <= h.until_s for h in self.heats):
                    yield Wrong("heat without start", oven, at_s, "no command that may heat was on")
                    break

    def _latched(self, heat: Heat, at_s: float) -> bool:
        """Return whether the trip of a heat still stands."""
        ended_s = heat.said.ended_s
        if ended_s is None or not heat.tripped or at_s <= ended_s:
            return False
        return not any(
            r.home == heat.home and r.oven in (None, heat.oven) and ended_s < (r.ended_s or 0.0) < at_s
            for r in self.resets
        )

    def _heat_after_trip(self) -> Iterator[Wrong]:
        for oven in OVENS:
            for at_s, _ in self.relays[oven, HEATER].went_on():
                on = [h for h in self.heats if h.oven == oven and h.from_s < at_s <= h.until_s]
                # No latch bars a drill, a reset may ask for one; but its person is told, and asked.
                if any(h.said.words[0] == "commission" and LATCH_TOLD in h.said.told for h in on):
                    continue  # whatever else was asked for beside it, and refused
                trips = [h for h in self.heats if h.oven == oven and self._latched(h, at_s)]
                if on and all(any(t.home == h.home and t is not h for t in trips) for h in on):
                    why = f"{_tell(on[-1].said)} heats, {_tell(trips[-1].said)} tripped, no reset between"
                    yield Wrong("latch lost", oven, at_s, why)
                    break

    def _trips_offered(self) -> Iterator[Wrong]:
        for said in self.place.said:
            if said.words[0] != "status" or said.ended_s is None:
                continue
            for heat in self.heats:
                offered = f"run --from {heat.run}`" in said.out + said.err
                if offered and heat.home == said.home and self._latched(heat, said.began_s):
                    yield Wrong("trip offered", heat.oven, said.began_s, f"status: {said.out.strip()}")

    def _without_dead_man(self) -> Iterator[Wrong]:
        drops_s = self.place.drops_s / self.place.speed
        for oven in OVENS:
            relay = self.relays[oven, HEATER]
            for at_s, armed in relay.went_on():
                if not armed:
                    yield Wrong("no dead-man", oven, at_s, "switched on before the dead-man was fed")
                    break
            if self.stuck[oven]:
                continue
            for i, (at_s, on) in enumerate(zip(relay.times, relay.states, strict=True)):
                end_s = relay.times[i + 1] if i + 1 < len(relay.times) else at_s
                if not on or relay.causes[i] == "hand":
                    continue
                fed_s = (
                    self.feeds[oven][bisect_right(self.feeds[oven], end_s) - 1] if self.feeds[oven] else at_s
                )
                if end_s - max(fed_s, at_s) > drops_s + LATE_S:
                    yield Wrong(
                        "dead-man outlived", oven, end_s, f"on {end_s - fed_s:.1f} s after the last feed"
                    )
                    break

    def _other_oven_stopped(self) -> Iterator[Wrong]:
        for heat in self.heats:
            said = heat.said
            if said.code != STOPPED or said.ended_s is None or said.killed or self._by_a_stranger(said):
                continue
            asked = [
                o
                for o in self.offs
                # A run that is taken up is named by its number: any oven may be its own.
                if (said.oven is None or self._covers(o, heat.oven))
                and heat.from_s - 2 < o.began_s < said.ended_s
            ]
            told = [w for t, w, _ in self.place.events if t < said.ended_s and w.startswith(ENDS_A_HEAT)]
            if not asked and not told:
                yield Wrong(
                    "other oven stopped", heat.oven, said.ended_s, f"{_tell(said)} was stopped by nobody"
                )

    def _by_a_stranger(self, said: Said) -> bool:
        """Return whether a process of another history, beside this one, asked for the off.

        A board that is unplugged gives the number of its pseudo-terminal back; an off by device reaches what
        stands there since.
        """
        asked = re.search(r"off was asked .*\(process (\d+)\)", str(said.summary.get("cause", "")))
        return asked is not None and int(asked[1]) not in {other.process.pid for other in self.place.said}

    def _words(self) -> Iterator[Wrong]:
        for said in self.place.said:
            if "Traceback (most recent" in said.err + said.out or (said.code == FAULT and not said.killed):
                at_s = said.ended_s or said.began_s
                yield Wrong("traceback", "", at_s, f"{_tell(said)}: {(said.err or said.out)[-300:]}")
            if said.words[0] == "off" and (said.ended_s is None or said.ended_s - said.began_s > HUNG_S):
                yield Wrong("off hung", "", said.began_s, _tell(said))


def _tell(said: Said) -> str:
    """Return a command, its code and the end of its words in one line."""
    words = (said.out + said.err).strip().splitlines()
    return f"`{' '.join(said.words)}` in home {said.home} -> {said.code} {words[-1][:160] if words else ''}"
