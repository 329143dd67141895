"""Is the person who confirms something at the machine? No reset and no heat from afar.

Who sits at the computer's own screen is there. Whoever comes over a network, or through a terminal that can
be picked up from anywhere, counts what the oven's lamp (or horn) does: only at the machine can he see it.
What is not found out: a remote desktop, and somebody who tells the numbers over the telephone.
"""

import os
import random
import re
import sys
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from kilnctl.clock import Clock
from kilnctl.config.oven import Oven
from kilnctl.devices.roles import Hands
from kilnctl.errors import RunRefused

OWN_SCREEN = re.compile(r"/dev/tty\d+")
OVER_A_NETWORK = ("SSH_CONNECTION", "SSH_CLIENT", "SSH_TTY")
# Servers of remote shells, and of terminals that live on and are picked up from anywhere.
FROM_AFAR = re.compile(r"sshd|mosh|telnet|dropbear|rlogin|tmux|screen|dtach|abduco", re.IGNORECASE)
NUMBERS, MOST = 3, 5  # one in 125 guesses
FLASH_S, BETWEEN_S = 0.4, 2.0
BEGIN_S = 2.0


def is_here(terminal: str, environ: Mapping[str, str], parents: Iterable[str]) -> bool:
    """Judge a terminal's name, the environment and the names of the processes above this one."""
    if OWN_SCREEN.fullmatch(terminal):
        return True
    if not terminal or any(environ.get(name) for name in OVER_A_NETWORK):
        return False
    return not any(FROM_AFAR.search(name) for name in parents)


def here_now() -> bool:
    """Return whether this process is run by somebody at the computer's own screen."""
    try:
        terminal = os.ttyname(sys.stdin.fileno())
    except (OSError, ValueError):
        terminal = ""
    parents = list(_parents(os.getppid()))
    return bool(parents) and is_here(terminal, os.environ, parents)


def _parents(process: int) -> Iterable[str]:
    """Yield the names of the processes above; where the system does not tell, nothing, which is afar."""
    while process > 1:
        try:
            stat = (Path("/proc") / str(process) / "stat").read_text(encoding="utf-8", errors="replace")
        except OSError:
            return
        name, _, rest = stat.partition("(")[2].rpartition(")")
        yield name
        process = int(rest.split()[1])


def prove(oven: Oven, hands: Hands, clock: Clock, ask: Callable[[str], str], code: str = "") -> None:
    """Show numbers with the oven's lamp (or horn) and ask for them. `hands` are connected, the heat is off.

    `code` is drawn where it is not given. Raises RunRefused for a wrong answer, and for an oven that has
    neither lamp nor horn.
    """
    shown_by = "lamp" if oven.output.lamp else "horn" if oven.output.horn else ""
    if not shown_by:
        raise RunRefused(
            f"{oven.name} has neither lamp nor horn by which somebody could prove to be there: "
            "confirm it at the computer's own screen and keyboard, not over a network"
        )
    drawn = code or "".join(str(random.SystemRandom().randint(1, MOST)) for _ in range(NUMBERS))
    show(hands, clock, drawn, shown_by)
    typed = ask(
        f"The {shown_by} of {oven.name} told {NUMBERS} numbers after one long call; which (like 2 1 4)? "
    )
    if re.sub(r"\D", "", typed) != drawn:
        raise RunRefused(
            f"that is not what the {shown_by} told: this is confirmed at the machine, or not at all"
        )


def show(hands: Hands, clock: Clock, code: str, shown_by: str) -> None:
    """Call once long, then each digit as so many short calls with a pause after it; the output ends off."""

    def call(for_s: float, rest_s: float) -> None:
        hands.sound(horn=shown_by == "horn", lamp=shown_by == "lamp")
        clock.pause(for_s)
        hands.sound(horn=False, lamp=False)
        clock.pause(rest_s)

    try:
        call(BEGIN_S, BETWEEN_S)
        for digit in code:
            for _ in range(int(digit)):
                call(FLASH_S, FLASH_S)
            clock.pause(BETWEEN_S)
    finally:
        hands.sound(horn=False, lamp=False)
