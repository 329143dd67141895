"""The command that keeps a uniformity survey: care survey."""

import re
from typing import Annotated

from cyclopts import Parameter

from kilnctl.cli.oven.care.due import show
from kilnctl.cli.record.open_logbook import COMPLETE, keep
from kilnctl.cli.terminal.options import Flag
from kilnctl.cli.terminal.tell import tell
from kilnctl.errors import ConfigError
from kilnctl.units import parse_point_c

_POSITION = re.compile(r"(.+?)\s*=\s*(.+)")


def survey(
    oven: str,
    temperature: str,
    /,
    *,
    at: Annotated[list[str], Parameter(negative="")],
    most: str = "",
    loaded: Flag = False,
    note: str = "",
    who: str = "",
) -> int:
    """Record a uniformity survey: what five or more positions read while the oven was held.

    Parameters
    ----------
    oven:
        The oven, by file or name.
    temperature:
        What it was held at ("218 C").
    at:
        A position and what was read there ("front left = 216.1 C"); once for every position.
    most:
        The highest that any of them read on the way there ("241 C"): a plan spares thin edges by it.
    loaded:
        It was done with a usual load.
    note:
        A note to keep with it.
    who:
        Who did it.
    """
    from kilnctl.care.survey import orientation, survey_of
    from kilnctl.config.oven import find_oven

    file = find_oven(oven)
    at_c, readings = parse_point_c(temperature), [_reading(text) for text in at]
    most_c = parse_point_c(most) if most else None
    found = survey_of(file, at_c, readings, most_c, loaded=loaded, who=who, note=note)
    tell(orientation(found.low_k, found.high_k))
    keep(found)
    show(file.name)
    return COMPLETE


def _reading(text: str) -> tuple[str, float]:
    match = _POSITION.fullmatch(text.strip())
    if match is None:
        raise ConfigError(f'cannot read "{text}" as a position; write it like "front left = 826.1 C"')
    return match[1], parse_point_c(match[2])
