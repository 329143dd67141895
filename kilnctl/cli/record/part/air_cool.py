"""The command that keeps how a part cooled in air outside the oven: part air-cool."""

from typing import Literal

from kilnctl.cli.record.open_logbook import keep
from kilnctl.cli.record.part.story import story
from kilnctl.errors import ConfigError
from kilnctl.units import parse_duration_s, parse_point_c


def air_cool(
    name: str,
    took: str,
    /,
    *,
    start: str = "700 C",
    end: str = "500 C",
    by: Literal["thermometer", "colour"] = "thermometer",
    run: int | None = None,
    who: str = "",
) -> int:
    """Record how fast a part cooled in air: the record then names the cooling by it.

    Parameters
    ----------
    name:
        The part or batch.
    took:
        How long it took ("95 s").
    start:
        From which temperature; the heat itself where you counted from the door.
    end:
        Down to which temperature. The last glow in the dark is near 500 C (common practice).
    by:
        What told you: a thermometer, or the colour.
    run:
        The run in which it was heated.
    who:
        Who read it.
    """
    from kilnctl.logbook.entries import AirCool

    from_c, to_c, took_s = parse_point_c(start), parse_point_c(end), parse_duration_s(took)
    if not 20.0 <= to_c < from_c <= 1400.0 or took_s <= 0.0:
        raise ConfigError("a cooling goes down: --start above --end, both 20 C to 1400 C, in some time")
    keep(AirCool(name, from_c, to_c, took_s, by, run, who))
    return story(name)
