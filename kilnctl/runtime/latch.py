"""The latch of one oven: a file that is there before the heat is, and goes only after a verified end.

It says "armed" while a run is on and "tripped" after a trip. So a latch needs no write at the worst moment:
a file that is found at a start, or that cannot be read, counts as latched. No trip clears itself.
"""

import contextlib
import json
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from urllib.parse import quote, unquote

from kilnctl.config import home
from kilnctl.errors import RecordError, RunRefused, one_line
from kilnctl.readings import ResetClass, Trip
from kilnctl.runtime import durable

# Good readings in a row before a reset.
GOOD_S = 30.0
REPEATED_WITHIN = timedelta(hours=24)
REPEATED = 3
# Kinds whose third trip in a day needs a repair; the third of any other kind needs its commissioning step.
REPAIR_KINDS = ("heat_without_demand", "rising_while_off", "energy_balance", "over_temperature", "smoke")
SHORTEST_NOTE = 5
AFTER_REPAIR = ("bus check", "dead-man test", "heater pulse", "limit test", "drop test")


@dataclass(frozen=True, slots=True)
class Latched:
    """What the file says. `state` is armed (interrupted), tripped or unreadable; `utc` is ISO time."""

    state: str
    oven: str
    utc: str
    kind: str = ""
    reason: str = ""
    reset: str = ResetClass.A
    repeat_step: str = ""
    run: int | None = None

    def line(self) -> str:
        """Return one line for a person."""
        match self.state:
            case "tripped":
                return f'oven "{self.oven}" tripped at {self.utc}: {self.reason}'
            case "armed":
                return f'a heat of oven "{self.oven}" that began at {self.utc} was interrupted'
        return f'the latch of oven "{self.oven}" cannot be read, which counts as tripped'


class Latch:
    """The latch of an oven. `arm` before heat; then `trip` on a trip, `release` after a verified end.

    `resumes` is the interrupted run that this one takes up: its latch is taken over, never away. `watches` is
    for a run that never heats: it neither arms nor releases, and a trip of its own latches only a free oven.
    """

    def __init__(
        self,
        oven: str,
        utc: Callable[[], datetime],
        run: int | None = None,
        resumes: int | None = None,
        watches: bool = False,
    ) -> None:
        self._path, self._utc, self._resumes, self._watches = _path(oven), utc, resumes, watches
        self._armed = Latched("armed", oven, "", run=run)

    def arm(self, run: int | None = None) -> None:
        """Write the file, durable on return. Raises RunRefused for a latched oven, else RecordError."""
        self._armed = replace(self._armed, utc=_iso(self._utc()), run=run or self._armed.run)
        if self._watches:
            return
        refuse_latched(self._armed.oven, self._resumes)
        try:
            durable.write(self._path, json.dumps(asdict(self._armed)))
        except OSError as e:
            raise RecordError(f"{self._path}: cannot be written: {e.strerror}; nothing was heated") from None

    def trip(self, trip: Trip) -> None:
        """Say why in the file. Never raises: the file is there already, and armed is latched too."""
        if self._watches and read(self._armed.oven) is not None:
            return
        said = replace(
            self._armed,
            state="tripped",
            utc=_iso(self._utc()),
            kind=trip.kind,
            reason=trip.reason,
            reset=str(trip.reset),
            repeat_step=trip.repeat_step,
        )
        with contextlib.suppress(OSError):
            durable.write(self._path, json.dumps(asdict(said)))

    def release(self) -> None:
        """Take the file away: the run has ended and off was read back. Never raises."""
        if self._watches:
            return
        with contextlib.suppress(OSError):
            self._path.unlink(missing_ok=True)
            durable.settle(self._path.parent)


def read(oven: str) -> Latched | None:
    """Return what latches an oven, None where nothing does. An unreadable file latches."""
    path = _path(oven)
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError):
        return _unreadable(oven)
    try:
        said = Latched(**json.loads(text))
    except (ValueError, TypeError, RecursionError):
        return _unreadable(oven)
    return said if _sound(said, oven) else _unreadable(oven)


def _sound(said: Latched, oven: str) -> bool:
    """Return whether every value is of its kind: whatever wrote this file may not have been kilnctl."""
    texts = (said.state, said.oven, said.utc, said.kind, said.reason, said.reset, said.repeat_step)
    if not all(isinstance(text, str) and text == one_line(text) for text in texts):
        return False
    try:
        ResetClass(said.reset)
        zone = datetime.fromisoformat(said.utc).tzinfo
    except ValueError:
        return False
    run_known = said.run is None or type(said.run) is int
    return zone is not None and run_known and said.oven == oven and said.state in ("armed", "tripped")


def refuse_latched(oven: str, resumes: int | None = None) -> None:
    """Raise RunRefused when an oven is latched, unless only by the interrupted run that is taken up."""
    said = read(oven)
    if said is None or (said.state == "armed" and said.run == resumes is not None):
        return
    raise RunRefused(f"{said.line()}; find the cause, then `kilnctl reset --oven {oven}`")


def needed(said: Latched, now: datetime) -> ResetClass:
    """Return the reset class, raised where this is the third trip of its kind in 24 hours."""
    own = ResetClass(said.reset)
    if said.state != "tripped" or _earlier(said, now) + 1 < REPEATED:
        return own
    raised = ResetClass.C if said.kind in REPAIR_KINDS else ResetClass.B
    return max(own, raised)


def why_not_reset(
    said: Latched, now: datetime, good_s: float, passed_since: Iterable[str], repaired: bool
) -> list[str]:
    """Return what still stands in the way of a reset, in words; empty when nothing does.

    `good_s` is how long the readings have been good, `passed_since` the commissioning steps that passed
    after the trip, `repaired` a person's word that the cause was repaired and the limit reset by hand.
    """
    reset, done = needed(said, now), set(passed_since)
    missing = []
    if good_s < GOOD_S:
        missing.append(f"good readings for {GOOD_S:.0f} s (so far {good_s:.0f} s)")
    step = said.repeat_step or "heater pulse"
    if reset is ResetClass.B and step not in done:
        missing.append(f'the set-up step "{step}" passed again since the trip')
    if reset is ResetClass.C:
        if not repaired:
            missing.append("the repair, and the hand reset of the independent limit")
        again = [name for name in AFTER_REPAIR if name not in done]
        if again:
            missing.append(f"passed again since the repair: {', '.join(again)}")
    return missing


def reset(oven: str, note: str, now: datetime) -> Latched:
    """Release a latch, at the machine, with a typed note; what it asks for must hold (see `why_not_reset`).

    The trip is kept in the oven's list of trips, for the count of repeated ones. Raises RunRefused for an
    oven that is not latched or an empty note, RecordError when the list cannot be written.
    """
    said = read(oven)
    if said is None:
        raise RunRefused(f'oven "{oven}" is not latched')
    check_note(note)
    if said.state == "tripped":
        _remember(said, note)
    try:
        _path(oven).unlink(missing_ok=True)
        durable.settle(_path(oven).parent)
    except OSError as e:
        raise RecordError(f"{_path(oven)}: cannot be removed: {e.strerror}") from None
    return said


def check_note(note: str) -> None:
    """Raise RunRefused for a note that says nothing."""
    if len(note.strip()) < SHORTEST_NOTE:
        raise RunRefused("say in a few words what the cause was and what was done about it")


def latched_ovens() -> list[Latched]:
    """Return every latched oven."""
    found = (read(unquote(path.stem)) for path in sorted(home.latch_dir().glob("*.json")))
    return [said for said in found if said is not None]


def _earlier(said: Latched, now: datetime) -> int:
    """Return how many trips of this kind the last 24 hours saw; an unreadable list counts as enough."""
    try:
        lines = _trips(said.oven).read_text(encoding="utf-8").splitlines()
        past = [json.loads(line) for line in lines]
        times = [datetime.fromisoformat(p["utc"]) for p in past if p["kind"] == said.kind]
        return sum(now - REPEATED_WITHIN <= at for at in times)
    except FileNotFoundError:
        return 0
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return REPEATED


def _remember(said: Latched, note: str) -> None:
    path = _trips(said.oven)
    try:
        durable.append(path, json.dumps({"kind": said.kind, "utc": said.utc, "note": note}))
    except OSError as e:
        raise RecordError(f"{path}: cannot be written: {e.strerror}; the latch stays") from None


def _unreadable(oven: str) -> Latched:
    return Latched("unreadable", oven, "", "unreadable", "the latch file cannot be read", ResetClass.A)


def _path(oven: str) -> Path:
    return home.latch_dir() / f"{quote(oven, safe=' ')}.json"


def _trips(oven: str) -> Path:
    return home.latch_dir() / f"{quote(oven, safe=' ')}.trips"


def _iso(at: datetime) -> str:
    return at.isoformat(timespec="seconds")
