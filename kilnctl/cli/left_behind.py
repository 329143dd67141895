"""What runs, what starts, and what a heat that broke off has left on the disk, with what to do about it."""

from collections.abc import Iterable
from dataclasses import dataclass

from kilnctl.config import home
from kilnctl.errors import NoController
from kilnctl.link.client import LinkClient
from kilnctl.link.snapshot import Command, Snapshot
from kilnctl.runtime import lastwords, latch, running
from kilnctl.runtime.latch import Latched

ANSWER_S = 10.0  # a controller that takes up a job answers nothing else meanwhile


@dataclass(frozen=True, slots=True)
class Found:
    """The running ovens, those whose first picture is still to come, and what broke off.

    `not_off` names ovens whose heat was never read back as off, `latched` what waits for a person.
    """

    ovens: dict[str, Snapshot]
    starting: tuple[str, ...] = ()
    not_off: tuple[str, ...] = ()
    latched: tuple[Latched, ...] = ()


def look(who: str) -> Found:
    """Ask the controller, then judge the disk by its answer. Raises LinkError when it does not answer.

    A heat is latched and marked on the disk before it begins and until it has ended, so what lies there
    speaks of an interruption only where no controller holds that heat. The latches are read before the
    controller is asked and once more after it: a heat that begins or ends meanwhile is no interruption.
    """
    before = latch.latched_ovens()
    try:
        with LinkClient(home.socket_path()) as client:
            ovens = client.look()
            held = client.ask(Command("status", who=who), ANSWER_S).data.get("ovens", {})
    except NoController:
        return without_controller(before)
    busy = {name for name, said in held.items() if said["busy"]}
    latched = (said for said in before if said.state != "armed" or said.oven not in busy)
    return Found(ovens, tuple(sorted(busy - set(ovens))), latched=_still(latched))


def without_controller(latched: list[Latched] | None = None) -> Found:
    """Return what the disk says when nobody runs anything."""
    found = latch.latched_ovens() if latched is None else latched
    return Found({}, not_off=tuple(oven.name for oven in running.marked()), latched=_still(found))


def _still(latched: Iterable[Latched]) -> tuple[Latched, ...]:
    return tuple(said for said in latched if latch.read(said.oven) == said)


def lines(found: Found) -> list[str]:
    """Say what broke off and what to do, the ovens that may be hot first; empty where nothing did."""
    said = []
    if found.not_off:
        said.append(
            f"a heat was interrupted and its off was never read back: {', '.join(found.not_off)}; "
            "`kilnctl off` tries again, and cut the power by hand if it is hot"
        )
        words = lastwords.read()
        said += [f"  {words.line()}"] if words else []
    return said + [_latched(latched) for latched in found.latched]


def _latched(said: Latched) -> str:
    go_on = f", or see what can go on: `kilnctl run --from {said.run}`" if said.state == "armed" else ""
    return f"latched: {said.line()}; find the cause, then `kilnctl reset --oven {said.oven}`{go_on}"
