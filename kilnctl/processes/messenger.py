"""The process that sends messages: it watches the controller like a screen and can delay nothing there.

Messages are no protective layer: a network, a service, a telephone and a person lie between.
"""

import fcntl
import math
import os
import subprocess
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from kilnctl.clock import Clock, RealClock
from kilnctl.config import home
from kilnctl.config.channels import Alive, Channel, Channels, Told, load_messages
from kilnctl.errors import ConfigError, KilnctlError, LinkError
from kilnctl.link.client import LinkClient
from kilnctl.link.snapshot import Snapshot
from kilnctl.link.trip_head import RANK, level_of, trip_head
from kilnctl.logbook.entries import Message, add
from kilnctl.logbook.writer import Logbook
from kilnctl.processes.delivery import Receipt, call, send_all
from kilnctl.processes.tell_on import tell_on
from kilnctl.stages import LIVE, in_words

PROCESS = (sys.executable, "-P", "-m", "kilnctl.processes.messenger")
NICE = 10
CANNOT = 3


@dataclass(frozen=True, slots=True)
class News:
    """Something to tell about an oven."""

    told: Told
    words: str


def news(before: Snapshot | None, now: Snapshot) -> list[News]:
    """Return what a picture tells that the one before did not."""
    if before is not None and before.run != now.run:
        before = None
    found: list[News] = []
    at = f"{now.oven} (run {now.run})" if now.run is not None else now.oven
    if now.trip and _worse(before, now):
        found.append(News("trip", f"{at}: {trip_head(now).whole}"))
    if (said := _hot_and_silent(now)) and not (before and _hot_and_silent(before)):
        found.append(News("trip", f"{at}: {said}"))
    if now.waiting and not (before and before.waiting == now.waiting):
        found.append(News("ready", f"{at}: waiting for you: {now.waiting.say}"))
    if late(now) and not (before and late(before)):
        found.append(News("late", f"{at}: STILL waiting for you: {now.waiting.say if now.waiting else ''}"))
    if now.state not in LIVE and not now.trip and before is not None and before.state in LIVE:
        found.append(News("end", f"{at}: {in_words(now.outcome)}, {now.word}"))
    return found


def _hot_and_silent(s: Snapshot) -> str:
    """Return what a recording says of a hot oven whose board does not answer, empty while it does."""
    alarms = s.alarms if s.only_watched and not s.trip else ()
    return next((a.reason for a in alarms if a.kind == "link_lost" and not a.gone), "")


def _worse(before: Snapshot | None, now: Snapshot) -> bool:
    """Return whether a trip is new, shows more than before, or its heat is less surely off."""
    if before is None or not before.trip:
        return True
    return RANK[level_of(now)] > RANK[level_of(before)] or len(now.trip_later) > len(before.trip_later)


def late(s: Snapshot) -> bool:
    """Return whether a step has been waiting for too long."""
    return s.waiting is not None and s.waiting.late(s.elapsed_s)


def watch(
    snapshots: Iterable[Snapshot],
    channels: tuple[Channel, ...],
    clock: Clock,
    note: Callable[[Snapshot, News, Receipt], object],
    alive: Alive | None = None,
) -> None:
    """Send what is new, until the pictures end. A picture that comes while sending is looked at after it.

    While an oven heats, `alive` is called: when controller, computer or network are gone, the calls end.
    """
    last: dict[str, Snapshot] = {}
    called_s = -math.inf
    for snapshot in snapshots:
        if alive is not None and snapshot.state in LIVE and clock.real_s() - called_s >= alive.every_s:
            called_s = clock.real_s()
            call(alive)
        for item in news(last.get(snapshot.oven), snapshot):
            for receipt in send_all(channels, item.told, item.words, clock):
                note(snapshot, item, receipt)
        last[snapshot.oven] = snapshot


def keep(oven: str, run: int | None, told: Told, receipt: Receipt, clock: Clock) -> None:
    """Store a receipt in the logbook. Raises RecordError."""
    entry = Message(oven, told, receipt.channel, receipt.delivered, receipt.took_s, receipt.why, run)
    with Logbook(home.logbook_path()) as book:
        add(book, entry, clock.utc().timestamp())


def send_test(oven: str = "") -> tuple[str, ...]:
    """Send a test over every channel, store the receipts, and return a line for each."""
    clock = RealClock()
    receipts = send_all(load_messages().channel, "test", "a test: nothing is wrong", clock)
    for receipt in receipts:
        keep(oven, None, "test", receipt, clock)
    return tuple(receipt.line() for receipt in receipts)


def start() -> None:
    """Start the process where channels are set up and none runs yet. Never raises: a heat goes on without."""
    try:
        if load_messages() != Channels():
            with (home.home() / "messages.log").open("ab") as out:
                process = subprocess.Popen(
                    PROCESS, stdin=subprocess.DEVNULL, stdout=out, stderr=out, start_new_session=True
                )
            process.returncode = 0  # it is on its own now; nobody here will wait for it
    except (OSError, ConfigError):
        return


def main(words: Sequence[str] = ()) -> int:
    """Watch until the controller has gone; with `--test OVEN` only send a test."""
    if words:
        return _print_test(words[-1])
    os.nice(NICE)
    clock = RealClock()
    with Path(home.home() / "messages.lock").open("w", encoding="utf-8") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            return CANNOT  # another one does it
        try:
            set_up = load_messages()
            with LinkClient(home.socket_path()) as client:
                watch(
                    client.snapshots(),
                    set_up.channel,
                    clock,
                    lambda s, item, receipt: keep(s.oven, s.run, item.told, receipt, clock),
                    set_up.alive,
                )
        except LinkError:
            return 0  # the controller has gone, and so has the heat
        except KilnctlError as e:
            print(e, file=sys.stderr)
            return CANNOT
    return 0


def _print_test(oven: str) -> int:
    try:
        tell_on("\n".join(send_test(oven)))
    except KilnctlError as e:
        tell_on(f"WRONG {e}")
        return CANNOT
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
