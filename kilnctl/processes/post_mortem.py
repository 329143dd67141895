"""What a supervisor leaves behind when it had to cut the heat itself: the latch and a line in the record.

Loaded only after off was sent. The run is not given an end: without one every reader calls it incomplete.
"""

import contextlib
from collections.abc import Mapping

from kilnctl.clock import Clock
from kilnctl.config import home
from kilnctl.errors import KilnctlError
from kilnctl.marks import latch
from kilnctl.marks.oven_identity import UNKNOWN_OVEN
from kilnctl.readings import ResetClass, Trip

KIND = "controller_lost"
CAME = {
    True: "heat is off, read back",
    False: "off was sent and NOT read back",
    None: "off is sent until it is read back",
}


def keep(
    why: str, off: Mapping[str, bool | None], clock: Clock, held: Mapping[str, int | None] | None = None
) -> None:
    """Latch every oven that was cut and say why in its run. Never raises.

    None stands for an oven that off is still sent to: its latch must not wait for that, for whoever is killed
    meanwhile would leave an interruption, which may be taken up. `held` are the files of latches that are
    open already: they are reached where the home is read-only or moved by now.
    """
    for oven, verified in off.items():
        with contextlib.suppress(KilnctlError, OSError):
            before = latch.read(oven)
            run = before.run if before else None
            identity = before.identity if before else UNKNOWN_OVEN
            standing = latch.Latch(oven, clock.utc, run, identity=identity, held=(held or {}).get(oven))
            if before is None or before.state == "armed":  # a trip keeps its own, first cause
                standing.trip(Trip(KIND, f"{why}; {CAME[verified]}", at_s=0.0))
            elif verified is False:
                standing.escalate(f"{why}; {CAME[verified]}", ResetClass.C)
            if run is not None and verified is not None:
                _note(run, why, verified, clock)


def _note(run: int, why: str, verified: bool, clock: Clock) -> None:
    from kilnctl.logbook.readers import Reader
    from kilnctl.logbook.writer import Event, Logbook

    with Logbook(home.logbook_path()) as book:
        newest = Reader(book.connection).newest(run)
        at_s = newest.elapsed_s if newest else 0.0
        event = Event(at_s, clock.utc().timestamp(), KIND, why, {"heat_off_confirmed": verified})
        book.append(run, [], [event])
