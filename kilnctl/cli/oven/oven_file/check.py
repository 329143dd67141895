"""The command that says what an oven file can and cannot do, before any wire: oven check."""

from collections.abc import Iterator

from kilnctl.care.offset_of_file import unjudged
from kilnctl.cli.oven.oven_file.asking.questions import BEFORE_HEAT, WILL_NOT_HEAT, WITNESS
from kilnctl.cli.oven.oven_file.what_is_sent import what_is_sent
from kilnctl.cli.terminal.presence_prompt import needed_here
from kilnctl.cli.terminal.tell import tell
from kilnctl.config.abilities import closes, heating
from kilnctl.config.oven import Oven, find_oven
from kilnctl.config.places import Place, Switch
from kilnctl.config.wear import worn
from kilnctl.config.wiring import Temperature
from kilnctl.interlocks import not_checked
from kilnctl.units import say_point


def check(oven: str, /) -> int:
    """Say what an oven file can and cannot do. Nothing is opened and nothing is switched.

    Parameters
    ----------
    oven
        An oven file or name.
    """
    for line in report(find_oven(oven), oven):
        tell(line)
    return 0


def report(oven: Oven, typed: str) -> Iterator[str]:
    """Yield what the file means, what it allows, what it cannot see, and what comes next."""
    limit = say_point(oven.limit_c)
    yield f"{oven.name}: {oven.use}, {oven.power_w:.0f} W, limit {limit}. The file is complete."
    can, *ways = heating(oven)
    yield from ("", can, *(f"  - {way}" for way in ways), "", "It is wired like this:")
    for name, place in oven.wired():
        yield f"  {name}: {place.device}, {place.where}{_means(place)}"
    if sent := list(what_is_sent(oven)):
        yield from ("", "What it sends, to be laid beside the examples of the device's own sheet:")
        yield from (f"  {line}" for line in sent)
    if witness := oven.timers_witness:
        yield from ("", WITNESS.format(witness))
    for line in (*worn(oven), *filter(None, (closes(oven),))):
        yield from ("", f"! {line}")
    for why in unjudged(oven):
        yield from ("", f"! No heat begins with it: {why}")
    cannot = [*not_checked(oven, learned=False), *_unseen_from_afar(oven)]
    if cannot:
        yield from ("", "What it cannot do or see:", *(f"  - {line}" for line in cannot))
    if not oven.simulated:
        yield from ("", *will_not_heat_until())
    if here := needed_here(oven):
        yield from ("", f"! {here}")
    yield from ("", _next(oven, typed))


def _means(place: Place) -> str:
    """Say which temperatures are plausible, and which level of a contact means yes."""
    if isinstance(place, Temperature):
        return f", {say_point(place.low_c)} to {say_point(place.high_c)}"
    if not isinstance(place, Switch) or place.yes:
        return ""
    return ", 0 means yes (inverted)" if place.inverted else ", 1 means yes"


def _unseen_from_afar(oven: Oven) -> tuple[str, ...]:
    if oven.simulated or oven.output.lamp or oven.output.horn:
        return ()
    return (
        "No lamp and no horn: set-up, heats and resets are confirmed at this computer's own screen only, "
        "never over ssh. A lamp on a spare output solves that (`output.lamp`).",
    )


def will_not_heat_until() -> tuple[str, ...]:
    """Return what no oven file can stand for, in good time: the set-up asks for each of it."""
    return (WILL_NOT_HEAT, *(f"  - {one}" for one in BEFORE_HEAT))


def _next(oven: Oven, typed: str) -> str:
    if oven.simulated:
        second = f"kilnctl run --oven {typed} --soak 60C --for 10min"
        return f"Next: kilnctl simulate {typed}, and in a second terminal {second}"
    return f"Next, at the oven: kilnctl run --record-only --oven {typed}, then kilnctl commission {typed}"
