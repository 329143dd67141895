"""Heat off from outside: ask the controller; without one, or when it does not answer, go to the ports.

Loads nothing heavy as long as a controller answers, and nothing of the link where there is none.
"""

import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kilnctl.clock import Clock, RealClock
from kilnctl.config import home
from kilnctl.errors import ConfigError, LinkError, NoController

if TYPE_CHECKING:
    from kilnctl.config.oven import Oven

ANSWER_S = 3.0  # the controller itself gives a run two seconds to read back off


@dataclass(frozen=True, slots=True)
class Report:
    """Which ovens were read back as off, who did it, what stood in the way, and where each is cut by hand."""

    verified: dict[str, bool]
    by: str
    troubles: tuple[str, ...] = field(default=())
    isolators: dict[str, str] = field(default_factory=dict)

    @property
    def good(self) -> bool:
        """True when there was an oven and every one was read back as off."""
        return bool(self.verified) and all(self.verified.values()) and not self.troubles


def heat_off(oven: str | None, who: str, clock: Clock | None = None) -> Report:
    """Cut the heat of one oven or of all; read back. Raises ConfigError only where no folder can be had."""
    if not home.socket_path().exists():  # nobody can be listening
        return _alone(oven, clock)
    from kilnctl.link.client import LinkClient
    from kilnctl.link.snapshot import Command

    try:
        with LinkClient(home.socket_path()) as client:
            answer = client.ask(Command("off", oven, who=who), ANSWER_S)
    except NoController:
        return _alone(oven, clock)
    except LinkError as e:
        return at_the_ports(oven, clock or RealClock(), str(e))
    verified = {str(name): bool(good) for name, good in answer.data.get("verified", {}).items()}
    if verified and all(verified.values()):
        return Report(verified, "the controller")
    # an idle controller holds no port; one that could not read back is helped by a second hand
    return at_the_ports(oven, clock or RealClock(), answer.why if verified else "")


def _alone(oven: str | None, clock: Clock | None) -> Report:
    """No controller: what was read back as off here is off, and no heat of it is open any more."""
    report = at_the_ports(oven, clock or RealClock())
    _forget(report.verified)
    return report


def at_the_ports(oven: str | None, clock: Clock, trouble: str = "") -> Report:
    """Open the ports of the ovens that may be hot and send off, exclusively first, then beside the holder."""
    from kilnctl.devices.off_all import off_all

    said: list[str] = []
    ovens = _meant(oven, said)
    verified = off_all(ovens, clock)
    left = [o for o in ovens if not verified[o.name]]
    if left:
        verified |= off_all(left, clock, share=True, tell=said.append)
    if trouble and not all(verified.values()):
        said.insert(0, trouble)
    return Report(verified, "kilnctl at the port", tuple(said), {o.name: o.isolator for o in ovens})


def _meant(oven: str | None, said: list[str]) -> "list[Oven]":
    """Return the ovens of interrupted heats and every known one that is plugged in."""
    found = {o.name: o for o in _known(said)}
    chosen = [o for o in found.values() if oven in (None, o.name)]
    return chosen or list(found.values())  # a name nobody knows must not leave an oven hot


def _known(said: list[str]) -> "Iterator[Oven]":
    from kilnctl.config.oven import load_oven
    from kilnctl.runtime import running

    interrupted = running.marked()
    yield from interrupted
    if interrupted:
        return
    own = home.home() / "ovens"
    for path in home.known("ovens").values():
        try:
            oven = load_oven(path)
        except ConfigError as e:
            said.append(str(e))
            continue
        if path.parent == own or all(os.path.exists(port.path) for port in oven.port.values()):
            yield oven


def _forget(verified: dict[str, bool]) -> None:
    from kilnctl.runtime import running

    for name, good in verified.items():
        if good:
            running.clear(name)
