"""What a supervisor leaves behind when it had to cut the heat itself: the latch and a line in the record.

Loaded only after the heat is off. The run is not given an end: without one every reader calls it incomplete.
"""

import contextlib

from kilnctl.clock import Clock
from kilnctl.config import home
from kilnctl.errors import KilnctlError
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Event, Logbook
from kilnctl.marks import latch
from kilnctl.marks.oven_identity import UNKNOWN_OVEN
from kilnctl.readings import ResetClass, Trip

KIND = "controller_lost"


def keep(why: str, off: dict[str, bool], clock: Clock) -> None:
    """Latch every oven that was cut and say why in its run. Never raises."""
    for oven, verified in off.items():
        with contextlib.suppress(KilnctlError, OSError):
            before = latch.read(oven)
            run = before.run if before else None
            said = "heat is off, read back" if verified else "off was sent and NOT read back"
            standing = latch.Latch(oven, clock.utc, run, identity=before.identity if before else UNKNOWN_OVEN)
            if before is None or before.state == "armed":  # a trip keeps its own, first cause
                standing.trip(Trip(KIND, f"{why}; {said}", at_s=0.0))
            elif not verified:
                standing.escalate(f"{why}; {said}", ResetClass.C)
            if run is not None:
                _note(run, why, verified, clock)


def _note(run: int, why: str, verified: bool, clock: Clock) -> None:
    with Logbook(home.logbook_path()) as book:
        newest = Reader(book.connection).newest(run)
        at_s = newest.elapsed_s if newest else 0.0
        event = Event(at_s, clock.utc().timestamp(), KIND, why, {"heat_off_confirmed": verified})
        book.append(run, [], [event])
