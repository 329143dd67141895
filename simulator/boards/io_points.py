"""What a board can be asked and told, by name and in physical values; under every way of wiring."""

from simulator.boards.board import Board
from simulator.boards.reading import OPEN
from simulator.boards.registers import COILS, read, write

INPUTS = {
    "process": (0, 0.1),
    "second": (1, 0.1),
    "cold_junction": (2, 0.1),
    "load": (3, 0.1),
    "ambient": (4, 0.1),
    "enclosure": (5, 0.1),
    "supply_v": (6, 0.1),
    "current_a": (7, 0.01),
    "counter": (8, 1.0),
}
TEMPERATURES = ("process", "second", "cold_junction", "load", "ambient", "enclosure")
SWITCHES = {"door_open": 0, "heater_live": 1, "fan_on": 2, "smoke": 3, "limit_open": 4}


def value(board: Board, name: str) -> float | None:
    """Return a signal in degC, V, A or as 0/1; None for an open sensor. Raises KeyError for no signal."""
    if name in INPUTS:
        register, step = INPUTS[name]
        count = read(board, "input", register)
        if name not in TEMPERATURES:
            return count * step
        return None if count == OPEN else (count - 0x10000 if count > OPEN else count) * step
    if name in SWITCHES:
        return read(board, "discrete", SWITCHES[name])
    if name in COILS:
        return float(getattr(board, name))
    return {
        "duty": board.duty / 1000,
        "pulse": float(board.pulse_s > 0.0),
        "goal": board.follower.goal_c,
        "fed": board.fed_s,
        "heater-contact": float(board.relay_closed),
        "contactor-contact": float(board.contactor_closed()),
    }[name]


def tell(board: Board, name: str, wish: float) -> None:
    """Set an output: a coil 0/1, a duty 0..1, seconds of a pulse or of feeding, a goal in degC."""
    if name in COILS:
        write(board, "coil", COILS.index(name), int(wish))
    elif name == "duty":
        write(board, "holding", 1, round(min(1.0, max(0.0, wish)) * 1000))
    elif name == "pulse":
        write(board, "holding", 2, round(wish * 10))
    elif name == "goal":
        board.follower.goal_c = wish
    elif name == "fed":
        write(board, "holding", 0, round(wish))
