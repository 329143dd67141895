"""The latch of one oven: a file that is there before the first heat, and from then on for good.

It says "armed" while a run is on, "tripped" after a trip, "free" after a verified end or a reset; what cannot
be read, or is gone although the oven has heated, counts as latched. No trip clears itself, and none is
lowered by what is found later. It belongs to the oven as it was: see `OvenIdentity`.
"""

import contextlib
import json
import os
import weakref
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote, unquote

from kilnctl.clock import minute_of
from kilnctl.config import home
from kilnctl.errors import ConfigError, RecordError, RunRefused, cut_short, one_line
from kilnctl.marks import latch_file, mark_file
from kilnctl.marks.off_stamp import Outlet
from kilnctl.marks.oven_identity import UNKNOWN_OVEN, OvenIdentity
from kilnctl.marks.protocol import LatchWord, TripFinding, escalated, latch_word
from kilnctl.readings import ResetClass, Trip

if TYPE_CHECKING:
    pass

LONGEST = 400  # characters of a reason on disk
SHORTEST = 60
MOST_LATER = 4  # the newest escalations that are kept
# What tells that an oven has heated in this home; the last is the latch of an older program.
SIGNS = (("running", "toml"), ("running", "ended"), ("hot", "json"), ("latches", "json"))


@dataclass(frozen=True, slots=True)
class Latched:
    """What the file says. `state` is armed (interrupted), tripped, unreadable or missing; `utc` is ISO time.

    `escalations` were found while the trip stood already; `identity` is the oven's as it was then.
    """

    state: str
    oven: str
    utc: str
    kind: str = ""
    reason: str = ""
    reset: str = ResetClass.A
    repeat_step: str = ""
    run: int | None = None
    escalations: tuple[str, ...] = ()
    identity: OvenIdentity = UNKNOWN_OVEN

    def line(self) -> str:
        """Return one line for a person."""
        match self.state:
            case "tripped":
                reasons = "; then ".join((self.reason, *self.escalations))
                return f'oven "{self.oven}" tripped at {minute_of(self.utc)}: {reasons}'
            case "armed":
                return f'a heat of oven "{self.oven}" that began at {minute_of(self.utc)} was interrupted'
            case "missing":
                return f'the latch of oven "{self.oven}" is gone although it has heated: it counts as tripped'
        return f'the latch of oven "{self.oven}" cannot be read, which counts as tripped'


class Latch:
    """The latch of an oven. `arm` before heat; then `trip` on a trip, `release` after a verified end.

    `resumes` is the interrupted run that this one takes up: its latch is taken over, never away. `watches` is
    for a run that never heats: it neither arms nor releases, and a trip of its own latches only a free oven.
    `held` is the file as it was opened earlier (`open_latch`); it stays the caller's.
    """

    def __init__(
        self,
        oven: str,
        utc: Callable[[], datetime],
        run: int | None = None,
        resumes: int | None = None,
        watches: bool = False,
        identity: OvenIdentity = UNKNOWN_OVEN,
        held: int | None = None,
    ) -> None:
        self._path, self._utc, self._resumes, self._watches = _path(oven), utc, resumes, watches
        self._armed = Latched("armed", oven, "", run=run, identity=identity)
        self._open = held
        self._let_go: Callable[[], object] = lambda: None

    def arm(self, run: int | None = None) -> None:
        """Write the file, durable on return. Raises RunRefused for a latched oven, else RecordError."""
        self._armed = replace(self._armed, utc=_iso(self._utc()), run=run or self._armed.run)
        if self._watches:
            return
        refuse_latched(self._armed.oven, self._resumes, self._armed.identity)
        try:
            latch_file.write(self._path, asdict(self._armed))
            self._keep_open()
        except OSError as e:
            raise RecordError(f"{self._path}: cannot be written: {e.strerror}; nothing was heated") from None

    def _keep_open(self) -> None:
        """Hold the armed file: a trip reaches it also in a home that was moved or is read-only by then."""
        self._let_go()
        self._open = os.open(self._path, os.O_RDWR | os.O_NOFOLLOW | os.O_CLOEXEC)
        self._let_go = weakref.finalize(self, os.close, self._open)

    def trip(self, trip: Trip) -> None:
        """Say why in the file, in place. Never raises: armed is latched too. A later call only escalates."""
        before = read(self._armed.oven)
        if self._watches and before is not None:
            return
        said = replace(
            self._armed,
            state="tripped",
            utc=_iso(self._utc()),
            kind=trip.kind,
            reason=cut_short(trip.reason, LONGEST),
            reset=str(trip.reset),
            repeat_step=trip.repeat_step,
        )
        if before is not None and before.state == "tripped":
            said = _harder(before, said)
        self._put(said)

    def escalate(self, reason: str, reset: ResetClass = ResetClass.A) -> None:
        """Add what was found while a trip stands; a worse reset class counts from now on. Never raises."""
        before = read(self._armed.oven)
        if before is None or before.state != "tripped":
            self.trip(Trip("escalated", reason, 0.0, reset=reset))
            return
        first = TripFinding(before.kind, before.reason, ResetClass(before.reset), None, before.escalations)
        now = escalated(first, TripFinding(before.kind, cut_short(reason, LONGEST), reset))
        self._put(replace(before, reset=str(now.reset), escalations=now.escalations[-MOST_LATER:]))

    def release(self) -> None:
        """Say free: the run has ended, off was read back. Never raises; what is not written stays latched."""
        if not self._watches:
            self._put(replace(self._armed, state="free", utc=_iso(self._utc())))

    def _put(self, latched: Latched) -> None:
        """Write in place; where folder or file were taken away meanwhile, make them anew.

        Where the path does not lead to the armed file any more, or cannot be written, that file says it too.
        """
        lost = self._open is not None and not latch_file.is_still_at(self._path, self._open)
        try:
            home.latch_dir()  # made anew, if it was removed
            _as_it_fits(latched, partial(latch_file.write, self._path))
        except (OSError, ConfigError):
            lost = True
        if lost and self._open is not None:
            with contextlib.suppress(OSError):
                _as_it_fits(latched, partial(latch_file.write_open, self._open))


def open_latch(oven: str) -> int | None:
    """Open the file of a latch, so that a trip reaches it wherever it lies by then; None where that fails."""
    with contextlib.suppress(OSError, ConfigError):
        return os.open(_path(oven), os.O_RDWR | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK)
    return None


def _as_it_fits(latched: Latched, write: Callable[[dict[str, Any]], None]) -> None:
    try:
        write(asdict(latched))
    except latch_file.TooLong:
        write(asdict(replace(latched, reason=cut_short(latched.reason, SHORTEST), escalations=())))


def _harder(before: Latched, later: Latched) -> Latched:
    """Return a trip told anew: its words, and the worse of both classes."""
    if ResetClass(before.reset) > ResetClass(later.reset):
        later = replace(later, reset=before.reset, repeat_step=before.repeat_step)
    return replace(later, utc=before.utc, kind=before.kind, escalations=before.escalations)


def reserve(oven: str) -> None:
    """Take the room for an oven's latch before its first heat. Raises OSError.

    Not where the oven has heated before: there a missing file stays missing, which latches.
    """
    if latch_file.read(_path(oven)) is None and not heated_before(oven):
        latch_file.renew(_path(oven), asdict(Latched("free", oven, "")))


def heated_before(oven: str) -> bool:
    """Return whether marks or signs say that an oven has heated here: then there must be a latch file."""
    name = quote(oven, safe=" ")
    return any(os.path.lexists(home.home() / folder / f"{name}.{kind}") for folder, kind in SIGNS)


def read(oven: str) -> Latched | None:
    """Return what latches an oven, None where nothing does. A missing or unreadable file latches."""
    entries = latch_file.read(_path(oven))
    if entries is None:
        gone = Latched("missing", oven, "", "missing", "the latch file is gone")
        return _of_older_program(oven) or (gone if heated_before(oven) else None)
    word = latch_word([entry.slot for entry in entries], heated_before=True)
    if word is LatchWord.FREE:
        return None
    if word is LatchWord.TORN:
        return _unreadable(oven)
    said = _latched_from(max(entries, key=lambda entry: entry.slot.number).data)
    return said if said is not None and _sound(said, oven) else _unreadable(oven)


def _of_older_program(oven: str) -> Latched | None:
    """Return the latch that a program before this form of the file left: it stays latched until a reset."""
    old = _path(oven).with_suffix(".json")
    if not os.path.lexists(old):
        return None
    try:
        said = _latched_from(json.loads(mark_file.text(old)))
    except (OSError, ValueError, RecursionError):
        said = None
    return said if said is not None and _sound(said, oven) else _unreadable(oven)


def _latched_from(data: dict[str, Any]) -> Latched | None:
    try:
        found = data.get("identity") or {}
        at = tuple(Outlet(str(port), str(place)) for port, place in found.get("at", ()))
        later = tuple(data.get("escalations", ()))
        identity = OvenIdentity(at, found.get("simulated") is True)
        return Latched(**{**data, "identity": identity, "escalations": later})
    except (TypeError, ValueError, AttributeError):
        return None


def _sound(latched: Latched, oven: str) -> bool:
    """Return whether every value is of its kind: whatever wrote this file may not have been kilnctl."""
    texts: tuple[str, ...] = (
        latched.state,
        latched.oven,
        latched.utc,
        latched.kind,
        latched.reason,
        latched.reset,
    )
    texts += (latched.repeat_step, *latched.escalations)
    if not all(isinstance(text, str) and text == one_line(text) for text in texts):
        return False
    try:
        ResetClass(latched.reset)
        zone = datetime.fromisoformat(latched.utc).tzinfo
    except ValueError:
        return False
    run_known = latched.run is None or type(latched.run) is int
    return zone is not None and run_known and latched.oven == oven and latched.state in ("armed", "tripped")


def refuse_latched(oven: str, resumes: int | None = None, identity: OvenIdentity = UNKNOWN_OVEN) -> None:
    """Raise RunRefused when an oven is latched, unless only by the interrupted run that is taken up.

    An oven of another name on the same device is the same oven.
    """
    for said in of_device(oven, identity):
        if not (said.state == "armed" and said.run == resumes is not None):
            raise RunRefused(f"{said.line()}; find the cause, then `kilnctl reset --oven {said.oven}`")


def of_device(oven: str, identity: OvenIdentity) -> list[Latched]:
    """Return the latches of an oven: those of its name, and those of its device under other names."""
    return [s for s in latched_ovens() if s.oven == oven or s.identity.same_device(identity)]


def set_free(latched: Latched, now: datetime) -> None:
    """Write that a latch was taken away. Raises RecordError where it cannot be written: the latch stays."""
    path = _path(latched.oven)
    free = Latched("free", latched.oven, _iso(now), run=latched.run, identity=latched.identity)
    try:
        latch_file.renew(path, asdict(free))
    except OSError as e:
        raise RecordError(f"{path}: cannot be written: {e.strerror}; the latch stays") from None


def latched_ovens() -> list[Latched]:
    """Return every latched oven, also where only marks or signs tell that there should be a latch."""
    names = {unquote(path.stem) for path in home.latch_dir().glob("*.latch")}
    for folder, kind in SIGNS:
        names |= {unquote(path.stem) for path in (home.home() / folder).glob(f"*.{kind}")}
    found = (read(name) for name in sorted(names))
    return [said for said in found if said is not None]


def _unreadable(oven: str) -> Latched:
    return Latched("unreadable", oven, "", "unreadable", "the latch file cannot be read", ResetClass.A)


def _path(oven: str) -> Path:
    return home.latch_dir() / f"{quote(oven, safe=' ')}.latch"


def _iso(at: datetime) -> str:
    return at.isoformat(timespec="seconds")
