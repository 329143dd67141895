"""Two oven files of one place, each of which means by off what the other means by on: an earlier try, mostly.

An off by the wrong one of them would switch the heat on, and both would read it back as off. So it is sent
only by the file that has heated; where neither has, by none.
"""

import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from kilnctl.config import home
from kilnctl.config.port_path import real
from kilnctl.errors import ConfigError
from kilnctl.marks import ovens_in_charge
from kilnctl.marks.off_stamp import Outlet
from kilnctl.marks.ovens_in_charge import OvenInCharge

if TYPE_CHECKING:
    from kilnctl.config.oven import Oven

SAID = (
    "{}: nothing was sent by its file, which means by off what the file of {} means by on, at one place: "
    "take the wrong one out of the ovens folder"
)


def contrary(one: "Oven", other: "Oven") -> bool:
    """Return whether an off of one is no off for the other, at a place where both heat."""
    others = dict(_offs(other))
    return any(others.get(place, off) != off for place, off in _offs(one))


def _offs(oven: "Oven") -> Iterator[tuple[Any, Any]]:
    """Yield each place where an oven heats, and what is written there for off."""
    from kilnctl.devices.outputs import off_value  # here and below: late, most ovens share no place
    from kilnctl.marks.oven_identity import outlet_of

    for output in (oven.output.heater, oven.output.contactor):
        if output is not None:
            outlet, device = outlet_of(oven, output), oven.device[output.device]
            words = getattr(device, "words", {}).get(output.field)
            yield (real(outlet.port), outlet.place, output.bit), (off_value(output), words)


def why_not_sent(
    oven: str, among: Mapping[str, OvenInCharge], driven: Callable[[str], bool] = lambda _oven: False
) -> str:
    """Return why no off may be sent by an oven's file, empty where it may; `driven` ovens are right."""
    entry = among.get(oven)
    at = set() if entry is None else _places(entry.at)
    near = [other for name, other in among.items() if name != oven and at & _places(other.at)]
    own = _whole(entry) if entry is not None and near else None
    if own is None:
        return ""
    against = [other.name for other in near if (whole := _whole(other)) is not None and contrary(own, whole)]
    trust = _trust(oven, driven)
    return next((SAID.format(oven, name) for name in against if _trust(name, driven) >= trust), "")


def _places(at: Iterable[Outlet]) -> set[tuple[str, str]]:
    return {(real(outlet.port), outlet.place) for outlet in at if outlet.place}


def _whole(entry: OvenInCharge) -> "Oven | None":
    from kilnctl.config.oven import Oven
    from kilnctl.tomlfile import loads

    try:
        return loads(entry.text, Oven, ConfigError, entry.file)
    except ConfigError:
        return None


def _trust(oven: str, driven: Callable[[str], bool]) -> int:
    """Return how sure it is that an oven's file has its off the right way round: a heat was looked at."""
    if driven(oven):
        return 3
    if ovens_in_charge.is_marked(oven):
        return 2
    return int(os.path.lexists(home.home() / "running" / f"{quote(oven, safe=' ')}.ended"))
