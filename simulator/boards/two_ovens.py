"""Two ovens in one room, and what can be crossed between them.

Each pair fault is symmetric and, like the others, "NAME@TIME[~DURATION]".
"""

import math
from collections.abc import Callable

from simulator.boards.board import Board
from simulator.boards.faults import seconds

COLLISION_SHARE = 0.4


def cross_sensors(a: Board, b: Board) -> None:
    """Each board reads the other's oven."""
    a.sensed, b.sensed = b.sensed, a.sensed


def cross_outputs(a: Board, b: Board) -> None:
    """Each relay feeds the other's element."""
    a.heated, b.heated = b.heated, a.heated


def swap_addresses(a: Board, b: Board) -> None:
    """Each board answers at the other's address."""
    a.voice, b.voice = b.voice, a.voice
    a.flawed()
    b.flawed()


def double_address(a: Board, b: Board) -> None:
    """Both answer at both addresses: part of the replies collide, the rest come from one or the other."""
    for board, other in ((a, b), (b, a)):
        begins = board.rival is None
        board.rival = other if begins else None
        board.flaws.collisions = COLLISION_SHARE if begins else 0.0
        board.flawed()


PAIR_FAULTS: dict[str, tuple[str, Callable[[Board, Board], None]]] = {
    "sensors-crossed": ("each board reads the other's oven", cross_sensors),
    "outputs-crossed": ("each relay feeds the other's element", cross_outputs),
    "addresses-swapped": ("each board answers at the other's address", swap_addresses),
    "address-doubled": ("both boards answer at one address", double_address),
}


def described_pairs() -> str:
    """Return the faults of two ovens, one a line, for a help text."""
    return "\n".join(f"{name}  {what} (two ovens)" for name, (what, _) in PAIR_FAULTS.items())


def schedule_pair(text: str, a: Board, b: Board) -> None:
    """Put a pair fault on the first board's clock; ending it crosses back. Raises ValueError."""
    name, at, after = text.partition("@")
    if name not in PAIR_FAULTS or not at or not after:
        raise ValueError(f'no fault of two ovens "{text}"; there is: {", ".join(sorted(PAIR_FAULTS))}')
    begin, _, lasting = after.partition("~")
    at_s = seconds(begin, text)
    for_s = seconds(lasting, text) if lasting else math.inf
    act = PAIR_FAULTS[name][1]
    a.script.put(at_s, lambda: act(a, b))
    if for_s != math.inf:
        a.script.put(at_s + for_s, lambda: act(a, b))
