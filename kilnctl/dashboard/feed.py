"""The screen's end of the socket: follows the controller, attaches again when it comes back, asks."""

import asyncio
import itertools
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Protocol

from kilnctl.errors import LinkError, NoController
from kilnctl.link import wire
from kilnctl.link.snapshot import Answer, Command, Snapshot

ANSWER_S = 5.0  # `off` is read back before it is answered
LONGEST_LINE = 8_000_000
GONE = "the controller has gone; `kilnctl off` in another terminal still switches the heat off"


class Feed(Protocol):
    """Where pictures come from and commands go to."""

    def snapshots(self) -> AsyncIterator[Snapshot]:
        """Yield snapshots until the other end hangs up. Raises LinkError when it is not there."""
        ...

    async def ask(self, command: Command) -> Answer:
        """Return the answer; a refusal too when nobody answers."""
        ...


class Attachment:
    """A feed over the controller's Unix socket."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._numbers = itertools.count(1)
        self._asked: dict[int, asyncio.Future[Answer]] = {}
        self._writer: asyncio.StreamWriter | None = None

    async def snapshots(self) -> AsyncIterator[Snapshot]:
        """Connect and yield snapshots until the controller hangs up. Raises LinkError."""
        reader, writer = await self._connect()
        self._writer = writer
        try:
            while raw := await reader.readline():
                snapshot = self._sort(wire.frame_of(raw))
                if snapshot is not None:
                    yield snapshot
        except (OSError, ValueError):  # a reset connection, or a line that never ends
            return
        finally:
            writer.close()
            if self._writer is writer:  # a generator that is closed late must not cut its successor off
                self._writer = None
                self._give_up()

    async def ask(self, command: Command) -> Answer:
        """Send a command and wait for its answer."""
        if self._writer is None:
            return Answer(False, GONE)
        number = next(self._numbers)
        future: asyncio.Future[Answer] = asyncio.get_running_loop().create_future()
        self._asked[number] = future
        self._writer.write(wire.line({"command": command, "id": number}))
        try:
            return await asyncio.wait_for(future, ANSWER_S)
        except TimeoutError:
            return Answer(False, f'the controller did not answer "{command.word}" within {ANSWER_S:g} s')
        finally:
            self._asked.pop(number, None)

    async def _connect(self) -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
        try:
            return await asyncio.open_unix_connection(str(self._path), limit=LONGEST_LINE)
        except OSError:
            raise NoController(GONE) from None

    def _sort(self, frame: wire.Frame) -> Snapshot | None:
        if "refused" in frame:
            raise LinkError(wire.refusal_of(frame))
        if "answer" in frame:
            future = self._asked.get(frame.get("id", 0))
            if future is not None and not future.done():
                future.set_result(wire.answer_of(frame["answer"]))
        return wire.snapshot_of(frame["snapshot"]) if "snapshot" in frame else None

    def _give_up(self) -> None:
        for future in self._asked.values():
            if not future.done():
                future.set_result(Answer(False, GONE))
