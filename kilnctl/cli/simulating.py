"""`kilnctl simulate`: a virtual oven on a pseudo-terminal, real bytes, wired as the oven file says."""

import signal
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from kilnctl.config.home import find
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ConfigError
from kilnctl.rehearsal.stand_in import board_for, talker_for
from kilnctl.units import parse_length_mm
from simulator.board import Board
from simulator.faults import described, parse_fault
from simulator.pair import PAIR_FAULTS, described_pairs, schedule_pair
from simulator.part import Part
from simulator.serving import run

FASTEST = 1000.0


def simulate(
    oven: str,
    *,
    link: Path,
    speed: float = 1.0,
    fault: Annotated[list[str] | None, Parameter(negative=())] = None,
    also: str | None = None,
    part: str | None = None,
    seed: int = 0,
) -> int:
    """Run a virtual oven until Ctrl-C.

    Every fault is written NAME@TIME[:VALUE][~DURATION], like relay-welded@2h10min~20min:

    FAULTS

    Parameters
    ----------
    oven
        Oven file or name; its wiring is honoured.
    link
        Path that will point to the pseudo-terminal.
    speed
        Simulated seconds in one real second.
    fault
        What goes wrong, from the list above; as often as wanted.
    also
        A second oven on the same line, by file or name.
    part
        Thickness of a steel plate in the chamber, like "6 mm"; without it the chamber is empty.
    seed
        Draws the noise; the same seed gives the same noise.
    """
    running = start(oven, link=link, speed=speed, fault=fault or [], seed=seed, also=also, part=part)
    for name in (signal.SIGINT, signal.SIGTERM):
        signal.signal(name, lambda *_: running.stop.set())
    print(f"simulated plant {running.name} on {link}, {speed:g} times real time; Ctrl-C ends it", flush=True)
    running.wait()
    return 0


_FAULT_LIST = "\n    ".join(
    f"- {line}" for line in [*described().splitlines(), *described_pairs().splitlines()]
)
simulate.__doc__ = (simulate.__doc__ or "").replace("FAULTS", _FAULT_LIST)


@dataclass(frozen=True, slots=True)
class Running:
    """A simulator at work in a thread of this process; `board` is the first oven's, `boards` are all."""

    name: str
    board: Board
    boards: tuple[Board, ...]
    stop: threading.Event
    thread: threading.Thread
    failure: list[OSError]

    def wait(self) -> None:
        """Return when it has ended. Raises ConfigError when the link could not be made."""
        while self.thread.is_alive():
            self.thread.join(0.2)
        if self.failure:
            raise ConfigError(f"cannot make the link: {self.failure[0]}")

    def close(self) -> None:
        """End it, as a pulled plug does."""
        self.stop.set()
        self.wait()


def start(
    oven: str | Oven,
    *,
    link: Path,
    speed: float = 1.0,
    fault: Sequence[str] = (),
    seed: int = 0,
    also: str | Oven | None = None,
    part: str | None = None,
) -> Running:
    """Start the simulator of an oven (or two on one line) in a thread; return when the line is there.

    Raises ConfigError for a bad oven file, speed or fault, or when the link cannot be made, UnitError for a
    thickness without unit.
    """
    if not (1.0 <= speed <= FASTEST and speed == int(speed)):
        raise ConfigError(f"speed {speed:g}: give a whole number from 1 to {FASTEST:g}")
    files = [_loaded(one) for one in (oven, also) if one is not None]
    boards = tuple(board_for(file, seed + i) for i, file in enumerate(files))
    if part is not None:
        boards[0].load(Part(section_mm=parse_length_mm(part), at_c=files[0].ambient_c))
    _schedule(fault, boards)
    talker = talker_for(list(zip(files, boards, strict=True)), seed)
    stop, ready, failure = threading.Event(), threading.Event(), list[OSError]()

    def work() -> None:
        try:
            run(talker, boards, link, speed, stop, ready=ready)
        except OSError as e:
            failure.append(e)
        finally:
            ready.set()

    name = " and ".join(file.name for file in files)
    thread = threading.Thread(target=work, name=f"simulator {name}", daemon=True)
    running = Running(name, boards[0], boards, stop, thread, failure)
    thread.start()
    ready.wait()
    if failure:
        running.wait()
    return running


def _loaded(oven: str | Oven) -> Oven:
    return oven if isinstance(oven, Oven) else load_oven(find(oven, "ovens", ConfigError))


def _schedule(texts: Sequence[str], boards: Sequence[Board]) -> None:
    """Put the faults on the first oven; those of two ovens between both."""
    try:
        for text in texts:
            if text.partition("@")[0] in PAIR_FAULTS and len(boards) == 2:
                schedule_pair(text, boards[0], boards[1])
            else:
                boards[0].schedule([parse_fault(text)])
    except ValueError as e:
        raise ConfigError(str(e)) from None
