"""What somebody at a simulated oven does while it runs, in words: door, part, plug, power, limit, faults."""

import difflib
import re
from collections.abc import Mapping, Sequence

from simulator.boards.board import Board
from simulator.boards.faults import parse_fault
from simulator.boards.two_ovens import PAIR_FAULTS
from simulator.oven.part import Part
from simulator.wire.serving import Service

WORDS = {
    "door open": "open the door",
    "door shut": "shut it",
    "part in THICKNESS": 'put a cold steel plate in, like "part in 6 mm"',
    "part out": "take it out",
    "unplug": "pull the data cables of every line; the ovens go on",
    "plug": "plug them in again",
    "power off": "cut the supply of heater and board",
    "power on": "switch it on again; the board starts",
    "limit reset": "reset the independent limit by hand",
    "fault NAME": "let a fault begin, like those of --fault without a time: relay-welded, sensor-offset:-20",
    "mend NAME": "end it",
    "look": "show what is really happening in the oven",
}
_MM = re.compile(r"(\d+(?:\.\d+)?) ?mm")


def described() -> str:
    """Return the words, one a line, for a help text."""
    return "\n".join(f"{words}  {what}" for words, what in WORDS.items())


class Visit:
    """A person at the ovens of a simulator. `boards` by the oven's name. Used in the serving thread."""

    def __init__(self, boards: Mapping[str, Board], service: Service) -> None:
        self._boards = boards
        self._service = service

    def do(self, text: str) -> str:
        """Do what a line of words says; return what was done. Raises ValueError with one line of help.

        With two ovens the oven's name stands last.
        """
        words = text.split()
        if words == ["unplug"]:
            self._service.unplug()
            return "the data cables are out"
        if words == ["plug"]:
            return self._plug()
        if len(words) == 2 and words[0] in ("fault", "mend") and words[1] in PAIR_FAULTS:
            return self._cross(words[1])
        name, board = self._board(words)
        return f"{name}: {self._at(board, [word for word in words if word != name])}"

    def _plug(self) -> str:
        try:
            self._service.plug()
        except OSError as e:
            raise ValueError(f"cannot plug in: {e}") from None
        return "the data cables are in"

    def _cross(self, what: str) -> str:
        if len(self._boards) != 2:
            raise ValueError(f"{what} needs two ovens (--also)")
        PAIR_FAULTS[what][1](*self._boards.values())
        return f"{what}: begun, or ended if it was so before"

    def _board(self, words: Sequence[str]) -> tuple[str, Board]:
        if words and words[-1] in self._boards:
            return words[-1], self._boards[words[-1]]
        if len(self._boards) > 1:
            raise ValueError(f'say the oven last: {", ".join(self._boards)}; like "door open NAME"')
        return next(iter(self._boards.items()))

    def _at(self, board: Board, words: Sequence[str]) -> str:
        match words:
            case ["door", "open" | "shut" as state]:
                board.open_door(state == "open")
                return f"the door is {state}"
            case ["part", "in", *size]:
                return _put_in(board, " ".join(size))
            case ["part", "out"]:
                board.load(None)
                return "the chamber is empty"
            case ["limit", "reset"]:
                board.reset_limit()
                return "the limit is closed"
            case ["look"]:
                return _state_of(board)
        return _break(board, words)


def _put_in(board: Board, size: str) -> str:
    match = _MM.fullmatch(size)
    if match is None or not float(match[1]) > 0.0:
        raise ValueError('how thick? write it like "part in 6 mm"')
    board.load(Part(section_mm=float(match[1]), at_c=board.plant.ambient_c))
    return f"a cold plate of {match[1]} mm is in"


def _break(board: Board, words: Sequence[str]) -> str:
    match words:
        case ["power", "off"]:
            board.begin(parse_fault("power-cut@0"))
            return "heater and board have no supply"
        case ["power", "on"]:
            board.end(parse_fault("power-cut@0"))
            return "the supply is back, the board starts"
        case ["fault", what]:
            board.begin(parse_fault(_at_once(what)))
            return f"{what} has begun"
        case ["mend", what]:
            board.end(parse_fault(_at_once(what)))
            return f"{what} is over"
    near = difflib.get_close_matches(" ".join(words), WORDS, n=1, cutoff=0.5)
    hint = f'did you mean "{near[0]}"?' if near else "there is: " + ", ".join(WORDS)
    raise ValueError(f'cannot do "{" ".join(words)}"; {hint}')


def _at_once(what: str) -> str:
    name, _, value = what.partition(":")
    return f"{name}@0:{value}" if value else f"{name}@0"


def _state_of(board: Board) -> str:
    door = "open" if board.plant.door_open else "shut"
    limit = ", limit open" if board.limit_open else ""
    part = "" if board.plant.part is None else f", part {board.plant.part.core_c:.1f} °C"
    at = f"after {board.at_s:.0f} s: sensor {board.plant.sensor.junction_c:.1f} °C"
    return f"{at}{part}, heat {100 * board.share:.0f} %, door {door}{limit}"
