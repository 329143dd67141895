"""`kilnctl simulate`: a virtual oven on pseudo-terminals, real bytes, wired as the oven file says."""

import os
import select
import signal
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from kilnctl.config import home, port_path
from kilnctl.config.oven import Oven, find_oven
from kilnctl.errors import ConfigError
from kilnctl.permits.preflight import FASTEST
from kilnctl.rehearsal.simulated_wiring import board_for, talkers_for
from kilnctl.units import parse_length_mm
from simulator.boards.board import Board
from simulator.boards.faults import described, parse_fault
from simulator.boards.two_ovens import PAIR_FAULTS, described_pairs, schedule_pair
from simulator.operator_console import Visit
from simulator.operator_console import described as described_words
from simulator.oven.part import Part
from simulator.wire.serving import Service

LISTEN_S = 0.2
Links = Path | Mapping[str, Path] | None


def simulate(
    oven: str,
    *,
    link: Annotated[list[str] | None, Parameter(negative=())] = None,
    speed: float = 1.0,
    fault: Annotated[list[str] | None, Parameter(negative=())] = None,
    also: str | None = None,
    part: str | None = None,
    seed: int = 0,
) -> int:
    """Run a virtual oven until Ctrl-C. While it runs, type what somebody at the oven does:

    WORDS

    Every fault is written NAME@TIME[:VALUE][~DURATION], like relay-welded@2h10min~20min:

    FAULTS

    Parameters
    ----------
    oven
        Oven file or name; the simulator is wired as it says.
    link
        Path that will point to the pseudo-terminal; for a file with several ports NAME=PATH for each. Left
        out, it is the path of each port in the oven file.
    speed
        Simulated seconds in one real second.
    fault
        What goes wrong, from the list above; as often as wanted.
    also
        A second oven, by file or name; on the same line where both have one link or one path.
    part
        Thickness of a steel plate in the chamber, like "6 mm"; without it the chamber is empty.
    seed
        Seed of the noise; the same seed gives the same noise.
    """
    simulation = start(
        oven, link=parse_links(link), speed=speed, fault=fault or [], seed=seed, also=also, part=part
    )
    for name in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(name, lambda *_: simulation.stop.set())
    signal.signal(signal.SIGTTIN, signal.SIG_IGN)  # in the background the terminal is somebody else's
    at = ", ".join(str(path) for path in simulation.service.talkers)
    print(f"simulated plant {simulation.name} on {at}, {speed:g} times real time; Ctrl-C ends it", flush=True)
    if os.isatty(0):
        print('type what you do at the oven, like "door open"; "help" lists the words', flush=True)
        print(f"Next, in a second terminal: kilnctl run --oven {oven} --soak 60C --for 10min", flush=True)
    threading.Thread(target=listen, args=(simulation,), daemon=True).start()
    simulation.wait()
    return 0


def _as_list(lines: Sequence[str]) -> str:
    return "\n    ".join(f"- {line}" for line in lines)


simulate.__doc__ = (
    (simulate.__doc__ or "")
    .replace("WORDS", _as_list(described_words().splitlines()))
    .replace("FAULTS", _as_list([*described().splitlines(), *described_pairs().splitlines()]))
)


@dataclass(frozen=True, slots=True)
class Simulation:
    """A simulator at work in a thread of this process; `board` is the first oven's, `boards` are all."""

    name: str
    board: Board
    boards: tuple[Board, ...]
    service: Service
    visit: Visit
    stop: threading.Event
    thread: threading.Thread
    failure: list[OSError]

    def wait(self) -> None:
        """Return when it has ended. Raises ConfigError when the link could not be made."""
        while self.thread.is_alive():
            self.thread.join(0.2)
        if self.failure:
            raise ConfigError(f"cannot make the link: {self.failure[0]}")

    def do(self, words: str, say: Callable[[str], object]) -> None:
        """Let somebody at the oven do what the words say, in the simulator's own thread."""

        def act() -> None:
            try:
                say(self.visit.do(words))
            except ValueError as e:
                say(str(e))

        self.service.soon(act)

    def close(self) -> None:
        """End it, as a pulled plug does."""
        self.stop.set()
        self.wait()


def listen(simulation: Simulation) -> None:
    """Do what is typed, or piped in, until the simulator ends or nothing more comes."""
    part = ""
    while not simulation.stop.is_set():
        try:
            typed = os.read(0, 4096) if _typed() else None
        except OSError:
            return  # no input at all, or the terminal is gone
        if typed == b"":
            return
        *lines, part = (part + (typed or b"").decode("utf-8", errors="replace")).split("\n")
        for line in lines:
            _answer(simulation, line.strip())


def _answer(simulation: Simulation, line: str) -> None:
    if line in ("help", "?"):
        print(described_words(), flush=True)
    elif line:
        simulation.do(line, lambda text: print(text, flush=True))


def _typed() -> bool:
    """True when there is something for this process: not what the shell in front of it is to get."""
    if not select.select([0], [], [], LISTEN_S)[0]:
        return False
    if not os.isatty(0) or os.tcgetpgrp(0) == os.getpgrp():
        return True
    threading.Event().wait(LISTEN_S)
    return False


def parse_links(texts: Sequence[str] | None) -> Links:
    """Read "PATH", or "NAME=PATH" for each port. Raises ConfigError."""
    if not texts:
        return None
    if len(texts) == 1 and "=" not in texts[0]:
        return Path(texts[0])
    pairs = [text.partition("=") for text in texts]
    if any(not name or not path for name, _, path in pairs):
        raise ConfigError("several links: write --link NAME=PATH for each port of the oven file")
    return {name: Path(path) for name, _, path in pairs}


def start(
    oven: str | Oven,
    *,
    link: Links = None,
    speed: float = 1.0,
    fault: Sequence[str] = (),
    seed: int = 0,
    also: str | Oven | None = None,
    part: str | None = None,
) -> Simulation:
    """Start the simulator of an oven (or two) in a thread; return when the lines are there.

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
    talkers = talkers_for(list(zip(files, boards, strict=True)), [_lines(file, link) for file in files], seed)
    service = Service(talkers, boards, speed)
    visit = Visit({file.name: board for file, board in zip(files, boards, strict=True)}, service)
    stop, ready, failure = threading.Event(), threading.Event(), list[OSError]()

    def work() -> None:
        try:
            service.run(stop, ready)
        except OSError as e:
            failure.append(e)
        finally:
            ready.set()

    name = " and ".join(file.name for file in files)
    thread = threading.Thread(target=work, name=f"simulator {name}", daemon=True)
    simulation = Simulation(name, boards[0], boards, service, visit, stop, thread, failure)
    thread.start()
    ready.wait()
    if failure:
        simulation.wait()
    return simulation


def _loaded(oven: str | Oven) -> Oven:
    return oven if isinstance(oven, Oven) else find_oven(oven)


def _lines(oven: Oven, link: Links) -> dict[str, Path]:
    """Return the path of each port that a device uses."""
    used = list(dict.fromkeys(device.port for device in oven.device.values()))
    if isinstance(link, Path):
        if len(used) > 1:
            raise ConfigError(f"{oven.name} has ports {', '.join(used)}: write --link NAME=PATH for each")
        return dict.fromkeys(used, link)
    if link is not None:
        unknown = [name for name in link if name not in used]
        if unknown:
            raise ConfigError(f"{oven.name} has no port {', '.join(unknown)}: leave out that --link")
        missing = [name for name in used if name not in link]
        if missing:
            raise ConfigError(f"{oven.name}: no --link for port {', '.join(missing)}")
        return {name: link[name] for name in used}
    for name in used:
        path = oven.port[name].path
        if port_path.is_network(path) or path.startswith("/dev/"):
            raise ConfigError(f"{oven.name}: {path} is not a path for a simulator; give --link PATH")
    found = {name: Path(oven.port[name].path) for name in used}
    for line in found.values():
        if line.is_relative_to(home.home()):
            line.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    return found


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
